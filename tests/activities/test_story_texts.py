"""What a story's texts, music and running time are held to: grade, topics, minutes, own music."""

from dataclasses import replace

import pytest

from bot.activities.reading_grade import count
from bot.activities.story import Notation, SungLine, WrittenMusic, tellings
from bot.activities.story_check import check_story
from bot.activities.story_graph import reachable
from bot.activities.story_time import scene_seconds
from bot.music.tonicsolfa import exercise_from_tonicsolfa
from tests.activities.stories import (
    SEQUENCES,
    SMALL,
    TOPICS,
    faults,
    findings,
    scene,
    story,
    warnings,
    with_scene,
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


def _with_music(letters):
    own = SungLine(
        music=WrittenMusic(notation=Notation.LETTERS, text=letters, place="s.toml:35"),
        place="s.toml:35",
    )
    told = with_scene(SMALL, replace(SMALL.scene("pond"), line=own))
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
    hard = with_scene(SMALL, replace(SMALL.scene("mill"), text=_ABSTRACT[:440]))

    assert "the texts read at grade" in faults(hard)[0][1]
    assert warnings(hard)[0][0] == 20
    assert findings(SMALL) == []


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
    gate = SMALL.scene("gate")
    paths = (replace(gate.paths[0], label=label), gate.paths[1])

    found = warnings(with_scene(SMALL, replace(gate, paths=paths)))

    assert len(found) == 1
    assert found[0][0] == 11
    assert topic in found[0][1]


def test_a_topic_in_the_question_is_warned_of_and_one_in_the_telling_is_not():
    gate = SMALL.scene("gate")
    asked = replace(gate, text="It rains. Do you go to church on Sunday?")
    told = replace(gate, text="A mouse stole the cheese. Where did it run?")

    assert "religious" in warnings(with_scene(SMALL, asked))[0][1]
    assert warnings(with_scene(SMALL, told)) == []


def test_the_protected_topics_are_the_eight_of_the_law():
    assert len(TOPICS) == 8
    assert all(len(topic.words) >= 15 for topic in TOPICS)


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
    gate = SMALL.scene("gate")  # 6 words, a vote; four measures of 4/4 and one counted in
    assert scene_seconds(SMALL, gate, {}) == pytest.approx(
        6 / (130 / 60) + 12 + 30 + 2 * (5 * 4 + 5) + 35
    )
    report = check_story(SMALL, SEQUENCES)
    both = sum(scene_seconds(SMALL, SMALL.scene(each), {}) for each in ("gate", "mill")) / 60
    assert report.minutes == pytest.approx((both, both))


def test_the_report_says_what_the_story_is():
    tree = check_story(SMALL, SEQUENCES).tree()

    assert tree["sound"] is True
    assert (tree["scenes"], tree["endings"], tree["paths"]) == (3, ["mill", "pond"], 2)
    assert (tree["voices"], tree["keys"], tree["scenes_a_path"]) == (["treble"], ["F"], [2, 2])


def test_what_can_be_reached_from_nothing_is_nothing():
    assert reachable({"a": ("b",)}, []) == set()
    assert len(tellings(_corridor(stop=0))) == 8
