"""The check of a story: every planted fault is found, and nothing on a sound one."""

from dataclasses import replace
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.activities.reading_grade import count
from bot.activities.story import Finale, Notation, Path, SungLine, WrittenMusic, tellings
from bot.activities.story_check import check_story
from bot.activities.story_graph import reachable
from bot.activities.story_time import scene_seconds
from bot.activities.story_topics import parse_topics
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.step import parse_sequence
from bot.music.syllable import tone_of
from bot.music.tonicsolfa import exercise_from_tonicsolfa
from tests.activities.stories import random_story, scene, story, with_scene
from tests.fakes.world import CONTENT

_STEPS = CONTENT / "sequences" / "steps-first.toml"
_SEQUENCES = {"steps-first": parse_sequence(_STEPS.read_text("utf-8"), "steps-first.toml")}
_TOPICS = parse_topics((CONTENT / "topics" / "protected.toml").read_text("utf-8"), "protected.toml")
_SMALL = story(
    scene("gate", ("do", "mill"), ("so", "pond"), line=10),
    scene("mill", line=20),
    scene("pond", line=30),
)
# Coleman and Liau's own abstract, which their readers work out as an example: 639 letters, 119
# words, 5 sentences, grade 14.5.
_ABSTRACT = (
    "Existing computer programs that measure readability are based largely upon subroutines which "
    "estimate number of syllables, usually by counting vowels. The shortcoming in estimating "
    "syllables is that it necessitates keypunching the prose into the computer. There is no need "
    "to estimate syllables since word length in letters is a better predictor of readability than "
    "word length in syllables. Therefore, a new readability formula was computed that has for its "
    "predictors letters per 100 words and sentences per 100 words. Both predictors can be counted "
    "by an optical scanning device, and thus the formula makes it economically feasible for an "
    "organization such as the U.S. Office of Education to calibrate the readability of all "
    "textbooks for the public school system."
)


def findings(told, music=None):
    report = check_story(told, _SEQUENCES, _TOPICS, music)
    return [(each.line, each.fault.problem, each.warning) for each in report.findings]


def faults(told, music=None):
    return [(line, problem) for line, problem, mild in findings(told, music) if not mild]


def warnings(told, music=None):
    return [(line, problem) for line, problem, mild in findings(told, music) if mild]


@settings(max_examples=60, deadline=None)
@given(st.integers(min_value=0, max_value=10**9))
def test_a_sound_story_of_any_shape_has_no_findings(seed):
    assert findings(random_story(Random(seed))) == []


def _votes(told):
    return [each for each in told.scenes if each.paths]


def _cut(told, random):
    """A path to nowhere."""
    chosen = random.choice(_votes(told))
    path = replace(chosen.paths[0], next="nowhere")
    return with_scene(told, replace(chosen, paths=(path, *chosen.paths[1:]))), (
        int(path.place.split(":")[1]), "leads to 'nowhere'",
    )  # fmt: skip


def _orphan(told, random):
    lost = scene("lost", line=900)
    return replace(told, scenes=(*told.scenes, lost)), (900, "no path leads to 'lost'")


def _trap(told, random):
    """Two scenes that lead to each other and nowhere else, in place of an ending."""
    ending = random.choice(told.endings)
    tone = told.first_tones()[ending.id][0]
    one = scene("one", ("do", "two"), ("mi", "three"), line=900)
    two = scene("two", ("so", "one"), ("mi", "three"), line=910)
    three = scene("three", ("do", "two"), ("so", "one"), line=920)
    trap = Path(label="In", syllable=tone_of("so"), next="one", place="s.toml:901")
    other = Path(label="On", syllable=tone_of("mi"), next="three", place="s.toml:902")
    assert tone is not None
    changed = with_scene(told, replace(ending, paths=(trap, other)))
    changed = replace(changed, scenes=(*changed.scenes, one, two, three))
    return changed, (900, "from 'one' the story never ends")


def _single(told, random):
    chosen = random.choice(_votes(told))
    line = int(chosen.place.split(":")[1])
    return with_scene(told, replace(chosen, paths=chosen.paths[:1])), (line, "1 paths from")


def _same_syllable(told, random):
    chosen = random.choice(_votes(told))
    first, second, *rest = chosen.paths
    path = replace(second, syllable=first.syllable)
    return with_scene(told, replace(chosen, paths=(first, path, *rest))), (
        int(path.place.split(":")[1]), "a second path on",
    )  # fmt: skip


def _two_into_one(told, random):
    """The same scene promised on two syllables."""
    pairs = [
        (each, path) for each in _votes(told) for path in each.paths
        if sum(other.next == path.next for _, other in told.all_paths()) > 1
    ]  # fmt: skip
    if not pairs:
        return told, None
    chosen, path = pairs[-1]
    changed = replace(path, syllable=tone_of("re"))
    paths = tuple(changed if each is path else each for each in chosen.paths)
    return with_scene(told, replace(chosen, paths=paths)), (None, "where another path leads on")


def _unread(told, random):
    chosen = random.choice(_votes(told))
    path = replace(chosen.paths[-1], syllable=tone_of("la"))
    return with_scene(told, replace(chosen, paths=(*chosen.paths[:-1], path))), (
        int(path.place.split(":")[1]), "la is not read yet at p04",
    )  # fmt: skip


def _other_key(told, random):
    chosen = random.choice(told.endings)
    line = int(chosen.place.split(":")[1])
    changed = replace(chosen, key=Key.parse("G"))
    return with_scene(told, changed), (line, f"{chosen.id!r} is in G on a branch in F")


def _twice(told, random):
    chosen = random.choice(told.scenes)
    again = replace(chosen, place="s.toml:900")
    return replace(told, scenes=(*told.scenes, again)), (900, f"a second scene {chosen.id!r}")


def _long(told, random):
    chosen = random.choice(told.scenes)
    line = int(chosen.place.split(":")[1])
    changed = replace(chosen, text="The cat sat. " * 40)
    return with_scene(told, changed), (line, "the text has 520 characters")


_PLANTS = (
    _cut, _orphan, _trap, _single, _same_syllable, _two_into_one, _unread, _other_key,
    _twice, _long,
)  # fmt: skip


@settings(max_examples=120, deadline=None)
@given(st.integers(min_value=0, max_value=10**9), st.sampled_from(_PLANTS))
def test_every_planted_fault_is_found_at_its_line(seed, plant):
    random = Random(seed)
    told, planted = plant(random_story(random), random)
    if planted is None:
        return

    found = faults(told)

    line, problem = planted
    assert any(problem in each and line in (None, at) for at, each in found), found


def test_a_start_that_is_no_scene_is_told_and_nothing_else_with_it():
    found = faults(replace(_SMALL, start="door", places={"start": "s.toml:7"}))

    assert found[0] == (7, "there is no scene 'door'")


def test_the_finale_needs_its_lines_on_every_way():
    told = replace(_SMALL, finale=Finale(parts=3))

    assert [problem for _, problem in faults(told)] == [
        "only 2 sung on the way gate > mill: the finale needs 3",
        "only 2 sung on the way gate > pond: the finale needs 3",
    ]


def test_a_new_part_goes_with_a_line_that_every_way_passes():
    mill = scene("mill", line=20, finale=Finale(new_part=True, against="gate"))
    pond = scene("pond", line=30, finale=Finale(new_part=True, against="mill"))

    found = faults(with_scene(with_scene(_SMALL, mill), pond))

    assert found == [(30, "no line of 'mill' on the way gate > pond")]


def test_a_finale_before_the_end_and_labels_alike_are_told():
    gate = scene("gate", ("do", "mill"), ("so", "pond"), line=10, finale=Finale(parts=1))
    alike = tuple(replace(path, label="On") for path in gate.paths)

    problems = [problem for _, problem in faults(with_scene(_SMALL, replace(gate, paths=alike)))]

    assert problems == ["a finale at 'gate', where the story goes on", "a second path 'On'"]


def test_a_branch_may_begin_in_a_key_of_its_own_after_a_scene_without_a_line():
    gate = scene("gate", ("do", "mill"), ("so", "pond"), line=10, words="")
    pond = scene("pond", line=30, key=Key.parse("G"))

    assert faults(with_scene(with_scene(_SMALL, gate), pond)) == []


def test_steps_metre_and_length_that_there_are_not():
    assert "no sequence 'other'" in faults(replace(_SMALL, sequence="other"))[0][1]
    assert "no such step" in faults(replace(_SMALL, steps=("p99",)))[0][1]
    assert "lines of 5 measures" in faults(replace(_SMALL, measures=5))[0][1]
    assert "3/4 at p04" in faults(replace(_SMALL, metre=Metre(beats=3)))[0][1]


def _with_music(letters):
    own = SungLine(
        music=WrittenMusic(notation=Notation.LETTERS, text=letters, place="s.toml:35"),
        place="s.toml:35",
    )
    told = with_scene(_SMALL, replace(_SMALL.scene("pond"), line=own))
    return told, {"pond": exercise_from_tonicsolfa(letters)}


def test_own_music_starts_on_the_syllable_of_its_path():
    sound = "KEY F. |s :m !r :d |d :r !m :f |s :s !m :m |r :r !d :- ||"

    assert findings(*_with_music(sound)) == []
    assert faults(*_with_music(sound.replace("|s", "|m", 1))) == [
        (35, "the line of 'pond' starts on mi")
    ]
    assert warnings(*_with_music("KEY F. |s :m !r :d ||")) == [(35, "1 measures of 4/4")]


def test_the_reading_grade_is_that_of_the_published_example():
    counts = count(_ABSTRACT)

    assert (counts.letters, counts.words, counts.sentences) == (639, 119, 5)
    assert round(counts.grade, 1) == 14.5


def test_texts_above_the_band_are_a_fault_and_a_scene_far_above_it_a_warning():
    hard = with_scene(_SMALL, replace(_SMALL.scene("mill"), text=_ABSTRACT[:440]))

    assert "the texts read at grade" in faults(hard)[0][1]
    assert warnings(hard)[0][0] == 20
    assert findings(_SMALL) == []


@pytest.mark.parametrize(
    ("label", "topic"),
    [
        ("Ask the senator", "political"),
        ("Say you are depressed", "mental"),
        ("Kiss the frog", "sex"),
        ("Steal the key", "illegal"),
        ("Blame your mother", "famil"),
        ("Call a lawyer", "privileged"),
        ("Pray at the well", "religious"),
        ("Pay with your allowance", "income"),
    ],
)
def test_each_of_the_eight_protected_topics_is_warned_of_on_a_path(label, topic):
    gate = _SMALL.scene("gate")
    paths = (replace(gate.paths[0], label=label), gate.paths[1])

    found = warnings(with_scene(_SMALL, replace(gate, paths=paths)))

    assert len(found) == 1
    assert found[0][0] == 11
    assert topic in found[0][1]


def test_a_topic_in_the_question_is_warned_of_and_one_in_the_telling_is_not():
    gate = _SMALL.scene("gate")
    asked = replace(gate, text="It rains. Do you go to church on Sunday?")
    told = replace(gate, text="A mouse stole the cheese. Where did it run?")

    assert "religious" in warnings(with_scene(_SMALL, asked))[0][1]
    assert warnings(with_scene(_SMALL, told)) == []


def test_the_protected_topics_are_the_eight_of_the_law():
    assert len(_TOPICS) == 8
    assert all(len(topic.words) >= 15 for topic in _TOPICS)


def _corridor(stop):
    rooms = [
        scene(f"r{n}", ("do", f"r{n + 1}"), ("so", f"r{n + 1}-out"), line=10 * n, stop=n == stop)
        for n in range(1, 8)
    ]
    outs = [scene(f"r{n}-out", line=100 + 10 * n) for n in range(2, 9)]
    return story(*rooms, *outs, scene("r8", line=200))


def test_a_way_of_more_than_a_quarter_of_an_hour_is_warned_of_and_a_stop_mends_it():
    long, mended = _corridor(stop=0), _corridor(stop=4)

    (line, problem), *_ = warnings(long)

    assert "minutes to the end of" in problem
    assert line > 60
    assert warnings(mended) == []
    assert faults(mended) == []


def test_the_running_time_adds_up():
    gate = _SMALL.scene("gate")  # 6 words, a vote; four measures of 4/4 and one counted in
    assert scene_seconds(_SMALL, gate, {}) == pytest.approx(
        6 / (130 / 60) + 12 + 30 + 2 * (5 * 4 + 5) + 35
    )
    report = check_story(_SMALL, _SEQUENCES)
    both = sum(scene_seconds(_SMALL, _SMALL.scene(each), {}) for each in ("gate", "mill")) / 60
    assert report.minutes == pytest.approx((both, both))


def test_the_report_says_what_the_story_is():
    tree = check_story(_SMALL, _SEQUENCES).tree()

    assert tree["sound"] is True
    assert (tree["scenes"], tree["endings"], tree["paths"]) == (3, ["mill", "pond"], 2)
    assert (tree["voices"], tree["keys"], tree["scenes_a_path"]) == (["treble"], ["F"], [2, 2])


def test_what_can_be_reached_from_nothing_is_nothing():
    assert reachable({"a": ("b",)}, []) == set()
    assert len(tellings(_corridor(stop=0))) == 8
