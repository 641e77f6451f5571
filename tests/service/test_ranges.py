"""Range tests of parts: typed in, kept, followed by coming lines, asked for again in time."""

import doctest
from dataclasses import replace
from datetime import timedelta

import pytest

from bot.activities import ranges
from bot.activities.ranges import RangeTest, due_tests
from bot.chat.room.desk import trouble_lines
from bot.errors import InputProblems
from bot.music.pitch import Pitch
from bot.music.voice import Voice
from bot.service.content import load_content
from bot.service.ranges import due_words
from tests.fakes.choirs import BARITONE, MONDAY, TREBLE, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import CONTENT, SIX, open_world

BOTH = a_choir(voices=(TREBLE, replace(BARITONE, label="Part II")))
WEEK = timedelta(weeks=1)


@pytest.fixture
def clock():
    return FakeClock(SIX)


@pytest.fixture
async def world(tmp_path, clock):
    async with open_world(tmp_path, clock) as opened:
        await opened.services.choirs.add(BOTH)
        yield opened


def sung(low, high, voice=Voice.BARITONE, on=MONDAY):
    return RangeTest(voice=voice, on=on, low=Pitch.parse(low), high=Pitch.parse(high))


@pytest.mark.parametrize(
    ("low", "high", "inner"),
    [
        ("Bb3", "E5", ("C#4", "C#5")),
        ("G3", "F4", ("A3", "Eb4")),
        ("C3", "E3", ("C3", "E3")),
        ("C3", "C#3", ("C3", "C#3")),
    ],
)
def test_the_tessitura_lies_a_fifth_of_the_span_inside(low, high, inner):
    found = sung(low, high).range
    assert (found.low.plain, found.high.plain) == (low, high)
    assert (found.tessitura_low.plain, found.tessitura_high.plain) == inner


def test_the_lower_note_comes_first():
    for low, high in (("C4", "C3"), ("C4", "C4")):
        with pytest.raises(ValueError, match="lower note"):
            sung(low, high)


async def test_two_notes_narrow_the_part_and_its_coming_lines(world):
    services = world.services
    before = await world.assembly.composing.ensure(BOTH.id, MONDAY)

    tested = await services.papers.ranges.test(
        BOTH, {"low_baritone": ["C3"], "high_baritone": ["A3"], "low_treble": [""]}
    )

    assert tested.voices == (Voice.BARITONE,)
    assert tested.trouble is None
    choir = await services.choirs.get(BOTH.id)
    assert choir.voices[0] == BOTH.voices[0]
    assert (choir.voices[1].range.low.plain, choir.voices[1].range.high.plain) == ("C3", "A3")
    for day in range(5):
        reading = await world.assembly.composing.ensure(BOTH.id, MONDAY + timedelta(days=day))
        part = reading.parts[1]
        tones = reading.exercise.parts[part.line].tones()
        key = reading.exercise.key
        pitches = [key.pitch(t.step, t.alter, part.do_octave) for t in tones]
        assert min(pitches) >= Pitch.parse("C3")
        assert max(pitches) <= Pitch.parse("A3")
    assert (await world.assembly.composing.ensure(BOTH.id, MONDAY)).id != before.id


async def test_tests_are_kept_and_a_second_one_of_a_day_is_written_over(world, clock):
    kept = world.services.papers.ranges
    for low in ("C3", "D3"):
        await kept.test(BOTH, {"low_baritone": [low], "high_baritone": ["B3"]})
    assert [test.low.plain for test in await kept.tests(BOTH.id)] == ["D3"]
    await clock.advance(7 * WEEK)
    await kept.test(BOTH, {"low_baritone": ["Bb2"], "high_baritone": ["A3"]})
    assert [test.low.plain for test in await kept.tests(BOTH.id)] == ["Bb2", "D3"]
    await world.services.choirs.remove(BOTH.id)
    assert await kept.tests(BOTH.id) == ()


async def test_faults_are_told_all_at_once_and_nothing_changes(world):
    form = {
        "low_treble": ["H3"],
        "high_treble": ["E5"],
        "low_baritone": ["C4"],
        "high_baritone": ["C3"],
    }
    with pytest.raises(InputProblems) as problems:
        await world.services.papers.ranges.test(BOTH, form)
    assert {fault.place for fault in problems.value.faults} == {"low_treble", "low_baritone"}
    with pytest.raises(InputProblems):
        await world.services.papers.ranges.test(BOTH, {"low_treble": ["C4"]})
    with pytest.raises(InputProblems):
        await world.services.papers.ranges.test(BOTH, {})
    assert await world.services.choirs.get(BOTH.id) == BOTH
    assert await world.services.papers.ranges.tests(BOTH.id) == ()


async def test_a_part_of_a_third_still_gets_a_line_in_a_room_of_others(world):
    tested = await world.services.papers.ranges.test(
        BOTH, {"low_baritone": ["C3"], "high_baritone": ["E3"]}
    )
    assert tested.trouble is None
    reading = await world.assembly.composing.ensure(BOTH.id, MONDAY)
    part, key = reading.parts[1], reading.exercise.key
    tones = reading.exercise.parts[part.line].tones()
    pitches = [key.pitch(tone.step, tone.alter, part.do_octave) for tone in tones]
    assert Pitch.parse("C3") <= min(pitches)
    assert max(pitches) <= Pitch.parse("E3")


async def test_a_choir_whose_only_part_has_two_notes_is_told_why_no_line_fits(world):
    alone = a_choir(id="alone", voices=(replace(BARITONE, label="Part I"),))
    await world.services.choirs.add(alone)
    tested = await world.services.papers.ranges.test(
        alone, {"low_baritone": ["C3"], "high_baritone": ["C#3"]}
    )
    choir = await world.services.choirs.get(alone.id)
    assert choir.voices[0].range.high.plain == "C#3"
    assert "C3" in tested.trouble


@pytest.mark.parametrize(
    ("weeks", "due", "late"), [(5, False, False), (6, True, False), (8, True, True)]
)
def test_a_test_is_due_after_six_weeks_and_late_after_eight(weeks, due, late):
    found = due_tests(BOTH, [sung("C3", "A3")], MONDAY, MONDAY + weeks * WEEK)
    assert [test.label for test in found] == ["Part II"] * due
    assert [test.late for test in found] == [late] * due


def test_changing_parts_count_from_the_first_day_unchanged_ones_from_their_first_test():
    found = due_tests(BOTH, [], MONDAY, MONDAY + 7 * WEEK)
    assert [(test.voice, test.tested_on) for test in found] == [(Voice.BARITONE, None)]
    treble = sung("Bb3", "E5", Voice.TREBLE)
    found = due_tests(BOTH, [treble], MONDAY, MONDAY + 7 * WEEK)
    assert {test.voice for test in found} == {Voice.TREBLE, Voice.BARITONE}


def test_parts_that_were_tested_on_one_day_share_a_sentence():
    tests = [sung("C3", "A3"), sung("Bb3", "E5", Voice.TREBLE)]
    say = load_content([CONTENT]).wording
    (told,) = due_words(due_tests(BOTH, tests, MONDAY, MONDAY + 6 * WEEK), say)
    assert told.startswith("The ranges of Part I, Part II were last tested")


async def test_the_status_says_when_to_test_again(world, clock):
    status = await world.services.status()
    assert status.choirs[0].range_tests == ()
    await world.services.papers.ranges.test(BOTH, {"low_baritone": ["C3"], "high_baritone": ["A3"]})
    await clock.advance(6 * WEEK)
    (sentence,) = (await world.services.status()).choirs[0].range_tests
    assert "Part II" in sentence
    assert "six weeks ago" in sentence
    await clock.advance(2 * WEEK)
    (line,) = (await world.services.status()).choirs
    (sentence,) = line.range_tests
    assert "eight weeks ago" in sentence
    assert sentence in trouble_lines(world.assembly.services.content.wording, line)


def test_the_examples_hold():
    assert doctest.testmod(ranges).failed == 0
