"""Story files: what is written is read, and what is wrong is named, all at once, with its line."""

import pytest

from bot.activities.story import Finale, Notation, Way, tellings
from bot.activities.story_file import parse_story
from bot.errors import InputProblems
from bot.music.pitch import Key
from bot.music.syllable import tone_of
from bot.music.voice import Voice

_SOUND = '''format = 1
title = "The gate"
grades = [5, 6]
voices = ["treble", "treble"]
steps = ["p04", "r04"]
key = "F"
start = "gate"

[[scene]]
id = "gate"
text = """
The gate = is shut.
[[scene]]

An owl
looks down.
"""
sing = "O-pen,  gate"
way = "echo"
stop = true

[[scene.path]]
label = "Knock"
syllable = "mi"
next = "garden"

[[scene.path]]
label = "Climb"
syllable = "so,"
next = "wall"

[[scene]]
id = "garden"
text = "Roses."
letters = "KEY F. |m :r !d :- ||"

[[scene]]
id = "wall"
text = "A wall."
finale = "new part"
against = "gate"
'''


def read(text=_SOUND):
    return parse_story(text, "gate.toml", "gate")


def faults(text):
    with pytest.raises(InputProblems) as caught:
        read(text)
    return [str(fault) for fault in caught.value.faults]


def test_what_is_written_is_read():
    story = read()
    gate, garden, wall = story.scenes

    assert (story.title, story.grades, story.steps) == ("The gate", (5, 6), ("p04", "r04"))
    assert story.voices == (Voice.TREBLE, Voice.TREBLE)
    assert story.key_of(gate) == Key.parse("F")
    assert gate.text == "The gate = is shut. [[scene]]\n\nAn owl looks down."
    assert (gate.line.words, gate.line.way, gate.stop) == ("O-pen, gate", Way.ECHO, True)
    assert [(path.label, path.syllable, path.next) for path in gate.paths] == [
        ("Knock", tone_of("mi"), "garden"),
        ("Climb", tone_of("so,"), "wall"),
    ]
    assert garden.line.music.notation is Notation.LETTERS
    assert story.endings == (garden, wall)
    assert story.finale_of(garden) == Finale(parts=2)
    assert story.finale_of(wall) == Finale(new_part=True, against="gate")
    assert tellings(story) == (("gate", "garden"), ("gate", "wall"))


def test_every_value_knows_its_line():
    story = read()
    gate, garden, wall = story.scenes

    assert (gate.place, gate.at("text"), gate.line.place) == (
        "gate.toml:9",
        "gate.toml:11",
        "gate.toml:18",
    )
    assert [path.place for path in gate.paths] == ["gate.toml:22", "gate.toml:27"]
    assert garden.line.music.place == "gate.toml:35"
    assert (wall.place, wall.at("sing")) == ("gate.toml:37", "gate.toml:37")


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("format = 1", "format = 2", "gate.toml:1: format is 2"),
        ("format = 1\n", "", "gate.toml:1: format is missing"),
        ('title = "The gate"', "title = 3", "gate.toml:2: title is 3"),
        ("[5, 6]", "[6, 5]", "gate.toml:3: grades is [6, 5]"),
        ("[5, 6]", '"5-6"', "gate.toml:3: grades is '5-6'"),
        ('["treble", "treble"]', '["alto"]', "gate.toml:4: voices is alto"),
        ('["treble", "treble"]', '["baritone", "treble"]', "gate.toml:4: voices out of order"),
        ('steps = ["p04", "r04"]\n', "", "gate.toml:1: steps is missing"),
        ('key = "F"', 'key = "H"', "gate.toml:6: 'H' is no pitch name"),
        ('key = "F"', 'kee = "F"', "gate.toml:6: 'kee' means nothing here"),
        ('way = "echo"', 'way = "loud"', "gate.toml:19: way is 'loud'"),
        ("stop = true", "stop = 1", "gate.toml:20: stop is 1"),
        ('syllable = "mi"', 'syllable = "mo"', "gate.toml:24: 'mo' is no tone"),
        ('next = "garden"', 'next = "The Garden"', "gate.toml:25: next is 'The Garden'"),
        ('label = "Climb"', 'label = " "', "gate.toml:28: label is ' '"),
        ('text = "Roses."', "", "gate.toml:32: text is missing"),
        ('text = "Roses."', 'text = "R"\nabc = "x"', "gate.toml:35: abc beside letters"),
        ('finale = "new part"', "finale = 2", "gate.toml:41: against without a new part"),
        ('finale = "new part"', "finale = 4", "gate.toml:40: finale is 4"),
        ('text = "A wall."', 'text = "A"\nway = "echo"', "gate.toml:40: a way of singing without"),
        ('text = "A wall."', 'text = "A', "gate.toml:39: no TOML"),
        ("[[scene]]\nid = \"wall\"", "[[scenes]]\nid = \"wall\"", "gate.toml:37: [scenes] means"),
    ],
)  # fmt: skip
def test_a_fault_names_its_line(old, new, fault):
    assert _SOUND.count(old) >= 1
    found = faults(_SOUND.replace(old, new, 1))

    assert any(each.startswith(fault) for each in found), found


def test_all_faults_are_told_at_once_in_the_order_of_the_file():
    broken = _SOUND.replace("format = 1", "format = 0").replace('"mi"', '"mo"')
    broken = broken.replace('finale = "new part"', "finale = 9").replace("[5, 6]", "5")

    lines = [int(each.split(":")[1]) for each in faults(broken)]

    assert lines == sorted(lines)
    assert set(lines) == {1, 3, 24, 40, 41}


def test_a_file_without_scenes_is_refused():
    assert any("there is no scene" in each for each in faults(_SOUND.partition("[[scene]]")[0]))


def test_a_loop_is_walked_round_once():
    text = _SOUND.replace('text = "Roses."', 'text = "Roses."', 1).replace(
        '[[scene]]\nid = "wall"',
        '[[scene.path]]\nlabel = "Back"\nsyllable = "do"\nnext = "gate"\n\n[[scene]]\nid = "wall"',
    )

    ways = tellings(read(text))

    assert ("gate", "garden", "gate", "wall") in ways
    assert ("gate", "wall") in ways
    assert len(ways) == 2
