"""A lesson on the stage over the real store and composer."""

from dataclasses import replace
from datetime import time, timedelta

import pytest

from bot.activities.choir import Hearing
from bot.errors import NoExercise, Refused
from bot.music.exercise import Exercise
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.service.card import Arrangement, Media
from bot.service.lesson_line import REACH, StageMedia, key_choices, signs, stage_request
from bot.service.media_requests import media_request
from tests.fakes.choirs import (
    BARITONE,
    CHANGING,
    MONDAY,
    TREBLE,
    a_choir,
    a_line,
    a_reading,
    an_exercise,
)
from tests.fakes.clock import FakeClock
from tests.fakes.world import EIGHT, open_world


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(EIGHT)) as opened:
        await opened.services.choirs.add(a_choir(voices=(TREBLE, CHANGING, BARITONE)))
        yield opened


async def test_the_stage_needs_no_preparation(world):
    """Nothing was composed or posted yet: the line of today is there, and stays today's."""
    lesson = world.services.lesson
    first = await lesson.line("choir-1")
    assert first.card.on == MONDAY
    assert (await lesson.line("choir-1")).card.reading_id == first.card.reading_id
    posted = await world.services.readings.post_now("choir-1")
    assert posted.reading_id == first.card.reading_id


async def test_on_a_day_without_a_lesson_the_last_line_is_there(world):
    posted = await world.services.readings.post_now("choir-1")
    world.clock.set(EIGHT + timedelta(days=5))
    line = await world.services.lesson.line("choir-1")
    assert line.card.reading_id == posted.reading_id


async def test_where_nothing_ever_went_up_a_line_is_made(tmp_path):
    async with open_world(tmp_path, FakeClock(EIGHT)) as world:
        await world.services.choirs.add(a_choir(starts_on=MONDAY + timedelta(days=30)))
        assert (await world.services.lesson.line("choir-1")).card.measures


async def test_another_like_it_is_fresh_and_never_comes_again(world):
    lesson = world.services.lesson
    line = await lesson.line("choir-1")
    shown = [await world.assembly.composing.find(line.card.reading_id)]
    for _ in range(4):
        fresh = await lesson.another("choir-1", shown[-1].id)
        shown.append(await world.assembly.composing.find(fresh))
    assert len({reading.exercise.fingerprint() for reading in shown}) == len(shown)
    assert len({reading.exercise.key for reading in shown}) == 1
    assert len({reading.exercise.measures for reading in shown}) == 1
    assert {reading.steps for reading in shown} == {shown[0].steps}
    tomorrow = await world.assembly.composing.ensure("choir-1", MONDAY + timedelta(days=1))
    assert tomorrow.exercise.fingerprint() not in {r.exercise.fingerprint() for r in shown}


async def test_another_line_is_not_put_up_on_the_board(world):
    line = await world.services.lesson.line("choir-1")
    await world.services.readings.post_now("choir-1")
    fresh = await world.services.lesson.another("choir-1", line.card.reading_id)
    board = await world.services.readings.board("choir-1")
    assert fresh not in [card.reading_id for card in board]
    assert (await world.services.lesson.line("choir-1", fresh)).card.reading_id == fresh


async def test_a_line_of_another_choir_is_not_shown(world):
    await world.services.choirs.add(a_choir("choir-2"))
    line = await world.services.lesson.line("choir-2")
    with pytest.raises(Refused, match=r"reading\.unknown"):
        await world.services.lesson.line("choir-1", line.card.reading_id)


async def test_the_line_is_not_to_be_heard_until_it_is_opened(world):
    lesson, readings = world.services.lesson, world.services.readings
    line = (await lesson.line("choir-1")).card.reading_id
    for ask in (
        lesson.media(line, 0, StageMedia.LINE, 0, None),
        lesson.media(line, 0, StageMedia.PART_LINE, 0, None),
        readings.media(line, Arrangement.TOGETHER, 0, Media.ALL_SOUND),
        readings.media(line, Arrangement.TOGETHER, 0, Media.LINE_SOUND),
        readings.media(line, Arrangement.APART, 2, Media.LINE_SOUND),
    ):
        with pytest.raises(Refused, match=r"stage\.closed"):
            await ask

    await lesson.open(line)

    assert await lesson.media(line, 0, StageMedia.LINE, 0, None)
    assert await readings.media(line, Arrangement.APART, 2, Media.LINE_SOUND)


async def test_a_choir_that_never_hears_lines_opens_none(world):
    await world.services.choirs.change(
        replace(await world.services.choirs.get("choir-1"), hearing=Hearing.NEVER)
    )
    line = (await world.services.lesson.line("choir-1")).card.reading_id
    with pytest.raises(Refused, match=r"stage\.closed"):
        await world.services.lesson.open(line)
    with pytest.raises(Refused, match=r"stage\.closed"):
        await world.services.readings.media(line, Arrangement.APART, 0, Media.LINE_SOUND)


async def test_where_singers_are_trusted_to_try_first_the_board_may_sound_it(world):
    await world.services.choirs.change(
        replace(await world.services.choirs.get("choir-1"), hearing=Hearing.TRY)
    )
    line = (await world.services.lesson.line("choir-1")).card.reading_id
    assert await world.services.readings.media(line, Arrangement.APART, 0, Media.LINE_SOUND)
    with pytest.raises(Refused, match=r"stage\.closed"):
        await world.services.lesson.media(line, 0, StageMedia.LINE, 0, None)


async def test_the_next_choir_is_the_one_whose_bell_comes_next(world):
    await world.services.choirs.add(a_choir("late", bell_at=time(13)))
    await world.services.choirs.add(a_choir("mid", bell_at=time(10)))
    lesson = world.services.lesson
    assert [(await lesson.next_choir(c)).id for c in ("choir-1", "mid", "late")] == [
        "mid",
        "late",
        "choir-1",
    ]
    assert (await lesson.choir_now()).id == "choir-1"


def test_the_signs_of_a_line_are_timed_in_pulses():
    found = signs(a_reading(exercise=an_exercise(0, 1, 2, 1, 0, 1)), 0)
    assert [(sign.measure, sign.at, sign.length) for sign in found] == [
        (1, 0, 1), (1, 1, 1), (1, 2, 1), (1, 3, 1), (2, 0 + 4, 1), (2, 5, 1), (2, 6, 2),
    ]  # fmt: skip


def test_the_key_moves_by_half_steps_as_far_as_every_voice_goes():
    """The line has F4 to A4: a treble voice has seven half steps on either side of it."""
    choices = key_choices(a_reading(), a_choir(), _say())
    assert [choice.half_steps for choice in choices] == list(range(-REACH, REACH + 1))
    named = {choice.half_steps: choice.key_name for choice in choices}
    assert (named[0], named[1], named[2], named[-1]) == (
        "F major", "F♯ major", "G major", "E major",
    )  # fmt: skip
    can = [choice.half_steps for choice in choices if choice.beyond is None]
    assert can == list(range(can[0], can[-1] + 1))
    assert 0 in can
    assert {choice.beyond for choice in choices} <= {None, "Part I"}
    assert choices[0].beyond is None  # B flat 3 is the lowest note of a treble voice
    assert choices[-1].beyond is None


def test_a_part_that_cannot_sing_there_is_named():
    reading = a_reading(
        parts=(replace(a_reading().parts[0], voice=BARITONE.voice, label="Part III", do_octave=3),)
    )
    choices = key_choices(reading, a_choir(voices=(BARITONE,)), _say())
    beyond = [choice.half_steps for choice in choices if choice.beyond == "Part III"]
    # F3 G3 A3 go up to C4, the baritone's last: three half steps, and down to B flat 2.
    assert beyond == [4, 5, 6, 7]


def test_a_moved_line_sounds_where_it_stands():
    reading, choir = a_reading(), a_choir()
    key = stage_request(reading, choir, 0, StageMedia.KEY, 2, 60).sound
    assert (key.key, str(key.do), key.tempo_bpm) == (Key.parse("G"), "G4", 60)
    down = stage_request(reading, choir, 0, StageMedia.DRONE, -7, None).sound
    assert str(down.do) == "B♭3"
    line = stage_request(reading, choir, 0, StageMedia.LINE, 2, None).sound
    assert str(line.exercise.first_pitch()) == "G4"
    picture = stage_request(reading, choir, 0, StageMedia.PICTURE, 2, None)
    assert picture.exercise.key == Key.parse("G")


@pytest.mark.parametrize(("half_steps", "bpm"), [(8, None), (-8, None), (0, 61), (0, 400)])
def test_what_no_key_of_the_stage_asks_for_is_refused(half_steps, bpm):
    with pytest.raises(Refused, match=r"stage\.reach"):
        stage_request(a_reading(), a_choir(), 0, StageMedia.LINE, half_steps, bpm)


async def test_when_every_line_is_read_the_stage_says_so(world, monkeypatch):
    line = await world.services.lesson.line("choir-1")

    def nothing_left(*_, **_options):
        raise NoExercise("refusal.all-read", count=1)

    monkeypatch.setattr("bot.service.lesson.compose_reading", nothing_left)
    with pytest.raises(NoExercise, match="all-read"):
        await world.services.lesson.another("choir-1", line.card.reading_id)


def _say():
    from tests.fakes.world import content

    return content().wording


def test_of_a_reading_in_parts_one_line_can_sound_alone():
    first, second = a_line(0, 1, 2, 1, 0, 1), a_line(4, 3, 4, 3, 2, 3)
    both = Exercise(key=Key.parse("F"), metre=Metre.parse("4/4"), parts=(first, second))
    one = a_reading().parts[0]
    parts = (one, replace(one, label="Part II", line=1))
    reading = a_reading(exercise=both, parts=parts)

    def lines(media, part):
        sound = stage_request(reading, a_choir(), part, media, 2, None).sound
        return [[tone.step for tone in tones_of(line)] for line in sound.exercise.parts]

    assert lines(StageMedia.LINE, 1) == [[0, 1, 2, 1, 0, 1, 0], [4, 3, 4, 3, 2, 3, 0]]
    assert lines(StageMedia.PART_LINE, 0) == [[0, 1, 2, 1, 0, 1, 0]]
    assert lines(StageMedia.PART_LINE, 1) == [[4, 3, 4, 3, 2, 3, 0]]
    everything = media_request(reading, a_choir(), Arrangement.TOGETHER, 0, Media.ALL_SOUND)
    assert len(everything.sound.exercise.parts) == 2
    for ask in ((reading, Arrangement.APART), (a_reading(), Arrangement.TOGETHER)):
        with pytest.raises(Refused, match=r"reading\.one_line"):
            media_request(ask[0], a_choir(), ask[1], 0, Media.ALL_SOUND)


def tones_of(part):
    return [note.tone for note in part.notes if note.tone is not None]


@pytest.mark.parametrize(
    ("name", "set_s", "study_s"),
    [
        ("virginia-district-6/1", None, 20),
        ("virginia-district-6/1", 45, 20),  # what is printed, not what the choir is used to
        ("maine", None, None),  # its text does not say
        ("maine", 45, 45),
    ],
)
async def test_a_published_reading_brings_its_own_study_clock(tmp_path, name, set_s, study_s):
    async with open_world(tmp_path, FakeClock(EIGHT)) as world:
        choir = a_choir(voices=(TREBLE,))
        shown = replace(choir.presentation, study_s=set_s)
        await world.services.choirs.add(replace(choir, presentation=shown))
        assert (await world.services.lesson.line("choir-1")).study_s == set_s
        await world.services.papers.music.set_reading("choir-1", MONDAY, name)
        assert (await world.services.lesson.line("choir-1")).study_s == study_s
