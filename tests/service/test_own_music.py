"""The director's own music: one line or one for each voice, or every fault with its place."""

from dataclasses import replace
from datetime import timedelta

import pytest

from bot.activities.reading import Origin
from bot.errors import InputProblems, Refused
from bot.notation.write import musicxml
from bot.service.card import Arrangement, Media
from tests.fakes.choirs import BARITONE, MONDAY, TREBLE, a_choir, a_line, an_exercise
from tests.fakes.clock import FakeClock
from tests.fakes.world import SIX, open_world

CHOIR = a_choir()
TUESDAY = MONDAY + timedelta(days=1)
BOTH = a_choir(voices=(TREBLE, replace(BARITONE, label="Part II")))
SMALL = b"<score-partwise/>"


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(SIX)) as opened:
        yield opened


async def add(world, choir=CHOIR):
    await world.services.choirs.add(choir)
    return world.services.readings


def own_music(*lines, clefs=None) -> bytes:
    exercise = replace(an_exercise(), parts=lines or (a_line(0, 2, 4, 2, 1, 1),))
    return musicxml(exercise, clefs=clefs or (TREBLE.clef,) * len(exercise.parts))


async def test_the_directors_own_music_takes_the_day(world):
    readings = await add(world)

    card = await readings.use_own_music(CHOIR.id, MONDAY, own_music(), "My Tune.musicxml")

    assert (card.title, card.own_music_title) == ("My Tune", "My Tune")
    assert (await readings.preview(CHOIR.id, MONDAY)).reading_id == card.reading_id
    reading = await world.assembly.composing.find(card.reading_id)
    assert reading.origin is Origin.OWN


async def test_own_music_in_one_line_is_sung_by_all_voices_octaves_apart(world):
    readings = await add(world, BOTH)

    card = await readings.use_own_music(BOTH.id, MONDAY, own_music(), "tune.xml")

    reading = await world.assembly.composing.find(card.reading_id)
    assert [(part.line, part.do_octave) for part in reading.parts] == [(0, 4), (0, 3)]


async def test_own_music_in_parts_gives_each_voice_its_line(world):
    readings = await add(world, BOTH)
    low = replace(a_line(0, 0, -1, 0, 0, -1), do_octave=3)
    data = own_music(a_line(0, 2, 4, 2, 1, 1), low, clefs=(TREBLE.clef, BARITONE.clef))

    card = await readings.use_own_music(BOTH.id, MONDAY, data, "duet.xml")

    reading = await world.assembly.composing.find(card.reading_id)
    assert [part.line for part in reading.parts] == [0, 1]
    await readings.media(card.reading_id, Arrangement.TOGETHER, 0, Media.PICTURE)
    assert len(world.media.requests[-1].exercise.parts) == 2
    await readings.media(card.reading_id, Arrangement.APART, 1, Media.PICTURE)
    assert len(world.media.requests[-1].exercise.parts) == 1


async def test_every_note_out_of_range_is_named_with_measure_and_beat(world):
    readings = await add(world)
    too_wide = own_music(a_line(0, 9, 0, 2, 11, 0))

    with pytest.raises(InputProblems) as caught:
        await readings.use_own_music(CHOIR.id, MONDAY, too_wide, "wide.xml")

    assert [fault.place for fault in caught.value.faults] == [
        "wide.xml: measure 1, beat 2",
        "wide.xml: measure 2, beat 1",
    ]
    assert "lies outside Part I (B♭3 to E5)" in caught.value.faults[0].problem


async def test_music_in_too_many_parts_is_refused(world):
    readings = await add(world)
    duet = own_music(a_line(0, 1, 2, 1, 0, 1), a_line(0, 0, 0, 0, 0, 0))

    with pytest.raises(InputProblems, match="2 parts and the choir has 1"):
        await readings.use_own_music(CHOIR.id, MONDAY, duet, "duet.xml")


async def test_a_file_that_is_no_music_leaves_the_day_as_it_was(world):
    readings = await add(world)
    before = await readings.preview(CHOIR.id, MONDAY)

    with pytest.raises(InputProblems):
        await readings.use_own_music(CHOIR.id, MONDAY, b"no music", "x.xml")

    assert await readings.preview(CHOIR.id, MONDAY) == before


async def test_voices_that_cannot_sing_the_planned_own_music_are_refused(world):
    readings = await add(world)
    high = own_music(a_line(0, 4, 5, 6, 5, 4))  # F4 up to E5
    await readings.use_own_music(CHOIR.id, MONDAY, high, "High.xml")
    narrow = replace(BARITONE, label="Part I")
    narrow = replace(narrow, range=replace(narrow.range, high=narrow.range.tessitura_high))

    with pytest.raises(Refused, match=r"choir\.own_music"):
        await world.services.choirs.change(replace(CHOIR, voices=(narrow,)))

    assert await world.services.choirs.get(CHOIR.id) == CHOIR
