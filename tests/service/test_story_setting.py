"""Stories set to music: each line on its syllable, one key, and an end for every way."""

from dataclasses import replace
from functools import cache

import pytest
from music21 import voiceLeading

from bot.activities.story import Finale, tellings
from bot.activities.story_check import check_story
from bot.activities.story_file import parse_story
from bot.activities.story_json import set_story_from_json, set_story_to_json
from bot.errors import InputProblems
from bot.music.casting import castings
from bot.music.pitch import Key
from bot.music.syllable import tone_of
from bot.music.voice import DEFAULT_RANGES, Voice
from bot.notation.pronouncing import sung_words
from bot.service.content import load_content
from bot.service.story_files import LoadedStory, story_of
from bot.service.story_setting import ranges_of, set_story
from tests.fakes.world import CONTENT
from tests.service.harmony import faults_by_music21

_CONTENT = load_content([CONTENT])
_STORIES = ("lost-tuesday", "the-old-wheel", "the-wrong-foghorn", "nine-bells")
_SMALL = """format = 1
title = "The mill"
grades = [5, 6]
voices = ["treble"]
steps = ["p05", "r04"]
key = "F"
finale = 2
start = "gate"

[[scene]]
id = "gate"
text = "A gate."
sing = "Open, open, garden gate, / it is getting rather late"

[[scene.path]]
label = "In"
syllable = "mi"
next = "mill"

[[scene.path]]
label = "Out"
syllable = "so"
next = "pond"

[[scene]]
id = "mill"
text = "A mill."
sing = "Turn and turn and grind the corn, / we shall eat tomorrow morn"

[[scene]]
id = "pond"
text = "A pond."
letters = "KEY F. |s :m !r :d |f :m !f :m |r :d !r :r |m :r !m :- ||"
"""


def loaded(text, tmp_path=CONTENT):
    story = parse_story(text, "mill.toml", "mill")
    return LoadedStory(story=story, text=text, file=tmp_path / "mill.toml")


@cache
def whole(story_id):
    told = story_of(_CONTENT, story_id)
    return set_story(told, _CONTENT, ranges_of(told.story.voices))


@cache
def small():
    return set_story(loaded(_SMALL), _CONTENT, ranges_of((Voice.TREBLE,)))


def _holds(told, ranges):
    """What must hold of a story that was set: syllables, words, key, ranges, every way's end."""
    firsts, keys = told.story.first_tones(), set()
    for scene in told.story.scenes:
        line = told.lines[scene.id]
        keys.add(line.exercise.key)
        assert line.main.parts[0].tones()[0] in (firsts[scene.id] or line.main.parts[0].tones())
        if scene.line.words:
            syllables = sung_words(scene.line.words).words.syllables
            assert line.words == tuple(each.under for each in syllables)
        assert {voice for row in line.singers for voice in row} == set(range(len(ranges)))
        _sung_in_range(line.exercise, line, ranges)
    assert len(keys) == 1
    for way in tellings(told.story):
        finale = told.finale(way)
        assert set(finale.scenes) <= {*way, ""}
        assert len([scene for scene in finale.scenes if scene]) >= 2
        assert len(finale.exercise.parts) == told.story.finale_of(told.story.scene(way[-1])).parts
        assert faults_by_music21(finale.exercise) == []
        _sung_in_range(finale.exercise, finale, ranges)
        for part, scene in zip(finale.exercise.parts, finale.scenes, strict=True):
            if scene:
                assert part.notes == told.lines[scene].main.parts[0].notes


def _sung_in_range(exercise, cast, ranges):
    for part, singers, octaves in zip(exercise.parts, cast.singers, cast.do_octaves, strict=True):
        for voice, octave in zip(singers, octaves, strict=True):
            for tone in part.tones():
                assert ranges[voice].holds(exercise.key.pitch(tone.step, tone.alter, octave))


def test_a_small_story_is_set_whole():
    told = small()

    _holds(told, ranges_of((Voice.TREBLE,)))
    assert told.lines["mill"].main.parts[0].tones()[0] == tone_of("mi")
    assert told.lines["gate"].exercise.key == Key.parse("F")


def test_music21_sees_a_parallel_and_a_dissonance_that_are_planted():
    finale = small().finale(("gate", "mill"))
    upper, lower = finale.exercise.parts
    parallel = replace(finale.exercise, parts=(upper, replace(upper, do_octave=3)))
    higher = tuple(
        note
        if note.tone is None
        else replace(note, tone=replace(note.tone, step=note.tone.step + 1))
        for note in upper.notes
    )
    clash = replace(
        finale.exercise, parts=(replace(upper, notes=higher, words=()), replace(upper, words=()))
    )

    assert faults_by_music21(finale.exercise) == []
    assert any("parallel" in each for each in faults_by_music21(parallel))
    assert any("dissonance" in each for each in faults_by_music21(clash))
    assert lower.notes
    assert voiceLeading.__name__ == "music21.voiceLeading"


def test_the_authors_own_music_is_sung_as_it_is_and_joins_the_end():
    told = small()

    own = told.lines["pond"].main.parts[0].tones()
    assert own[:4] == tuple(map(tone_of, ("so", "mi", "re", "do")))
    assert told.finale(("gate", "pond")) is not None


def test_the_same_story_is_set_the_same_way_again_and_another_seed_another_way():
    again = set_story(loaded(_SMALL), _CONTENT, ranges_of((Voice.TREBLE,)))
    other = set_story(loaded(_SMALL), _CONTENT, ranges_of((Voice.TREBLE,)), seed=3)

    assert again == small()
    assert other.lines != small().lines


def test_a_frozen_story_comes_back_whole():
    text = set_story_to_json(small(), _SMALL)

    assert set_story_from_json(text) == small()
    with pytest.raises(InputProblems, match="no frozen story"):
        set_story_from_json(text.replace('"version":1', '"version":2', 1))
    with pytest.raises(InputProblems, match="no frozen story"):
        set_story_from_json("[]")


def test_a_walked_loop_has_the_end_of_the_scenes_that_were_seen():
    told = small()

    assert told.finale(("gate", "gate", "mill")) == told.finale(("gate", "mill"))
    assert told.finale(("gate",)) is None


def test_what_cannot_be_sung_is_told_with_its_line_and_word():
    text = _SMALL.replace("Turn and turn and grind the corn", "Turn 3 times and grind the corn")
    text = text.replace("it is getting rather late", "it is " + "getting rather " * 6 + "late")

    with pytest.raises(InputProblems) as caught:
        set_story(loaded(text), _CONTENT, ranges_of((Voice.TREBLE,)))

    places = [fault.place for fault in caught.value.faults]
    assert places == ["mill.toml:13", "mill.toml:28"]
    assert "numbers" in str(caught.value.faults[1])


def test_own_music_with_too_many_words_or_out_of_range_is_told():
    text = _SMALL.replace('letters = "KEY F.', 'sing = "Too few"\nletters = "KEY F.')
    with pytest.raises(InputProblems, match=r"mill.toml:33: 2 syllables under 15 notes"):
        set_story(loaded(text), _CONTENT, ranges_of((Voice.TREBLE,)))
    wide = _SMALL.replace("|s :m !r :d |f", "|s' :m_ !r :d |f")
    with pytest.raises(InputProblems, match=r"mill.toml:33: the music does not fit"):
        set_story(loaded(wide), _CONTENT, ranges_of((Voice.TREBLE,)))


def test_a_new_part_is_composed_against_the_line_that_the_author_names():
    text = _SMALL.replace("finale = 2", 'finale = "new part"').replace('key = "F"\n', "")
    told = set_story(loaded(text), _CONTENT, ranges_of((Voice.TREBLE,)))
    finale = told.finale(("gate", "mill"))

    assert sorted(finale.scenes) == ["", "mill"]
    assert faults_by_music21(finale.exercise) == []


def test_a_story_in_one_part_ends_with_its_last_line_once_more():
    told = set_story(
        loaded(_SMALL.replace("finale = 2", "finale = 1")), _CONTENT, ranges_of((Voice.TREBLE,))
    )

    assert told.finale(("gate", "mill")).exercise == told.lines["mill"].exercise


def test_parts_are_shared_among_voices_and_voices_among_parts():
    treble, changing, baritone = (DEFAULT_RANGES[voice] for voice in Voice)

    assert [each.singers for each in castings([treble], 2)] == [((0,), (0,))]
    assert [each.singers for each in castings([treble, changing, baritone], 2)] == [
        ((0,), (1, 2)),
        ((0, 1), (2,)),
    ]
    assert [each.singers for each in castings([treble, baritone], 3)] == [
        ((0,), (1,), (1,)),
        ((0,), (0,), (1,)),
    ]


@pytest.mark.parametrize("story_id", _STORIES)
def test_the_programs_own_stories_are_sound(story_id):
    told = story_of(_CONTENT, story_id).story

    report = check_story(told, _CONTENT.sequences, _CONTENT.topics)

    assert [str(each.fault) for each in report.findings] == []
    assert 20 <= len(told.scenes) <= 40
    assert report.scenes_a_way[1] <= 5
    assert all(scene.line is not None and scene.line.words for scene in told.scenes)
    assert report.minutes[1] <= 15


def test_the_programs_own_stories_are_as_many_and_as_unlike_as_they_should_be():
    stories = [story_of(_CONTENT, each).story for each in _STORIES]

    assert set(_STORIES) <= set(_CONTENT.stories)
    assert [story.voices for story in stories] == [
        (Voice.TREBLE,),
        (Voice.TREBLE, Voice.TREBLE),
        (Voice.CHANGING, Voice.BARITONE),
        (Voice.TREBLE, Voice.CHANGING, Voice.BARITONE),
    ]
    assert [story.finale for story in stories] == [Finale(parts=n) for n in (2, 2, 2, 3)]
    texts = [scene.text for story in stories for scene in story.scenes]
    lines = [scene.line.words for story in stories for scene in story.scenes]
    assert len(set(texts)) == len(texts)
    assert len(set(lines)) == len(lines)


@pytest.mark.long
@pytest.mark.parametrize("story_id", _STORIES)
def test_every_line_and_every_end_of_the_programs_own_stories_is_composed(story_id):
    told = whole(story_id)

    _holds(told, ranges_of(told.story.voices))
    assert sum(len(line.bent) for line in told.lines.values()) <= 2


@pytest.mark.long
def test_a_story_is_told_to_other_voices_than_its_author_thought_of():
    ranges = tuple(DEFAULT_RANGES[voice] for voice in (Voice.CHANGING, Voice.BARITONE))

    told = set_story(story_of(_CONTENT, "lost-tuesday"), _CONTENT, ranges)

    assert {line.exercise.key for line in told.lines.values()} == {Key.parse("Bb")}
    assert set(told.finales) == set(tellings(told.story))
    for cast in (*told.lines.values(), *told.finales.values()):
        _sung_in_range(cast.exercise, cast, ranges)
