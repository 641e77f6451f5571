"""Readings at the desk and on cards: composed once, redrawn on purpose, never repeated unasked."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from bot.activities.choir import Steps
from bot.errors import NoExercise, Refused
from bot.media.request import EngravingRequest, KeyGiving, SoundRequest, StartingNote
from bot.music.voice import VoiceRange
from bot.service.card import Arrangement, Media
from bot.service.readings import UpcomingState
from bot.store.readings import history
from tests.fakes.choirs import BARITONE, MONDAY, TREBLE, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, SIX, open_world

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


async def test_a_date_is_composed_once(world):
    readings = await add(world)

    first = await readings.preview(CHOIR.id, MONDAY)
    second = await readings.preview(CHOIR.id, MONDAY)

    assert first == second


async def test_a_card_says_what_the_class_needs(world):
    readings = await add(world, BOTH)

    card = await readings.preview(BOTH.id, MONDAY)

    assert (card.choir_name, card.on, card.metre) == ("Third Period", MONDAY, "4/4")
    assert card.key == "choir-1.2026-09-14.daily"
    assert card.title == f"{card.measures} measures in {card.key_name}"
    assert [part.label for part in card.parts] == ["Part I", "Part II"]
    assert all(part.start for part in card.parts)
    assert card.tempo_bpm in (60, 69)
    assert card.text


async def test_another_draw_is_another_line_and_the_first_stays_history(world):
    readings = await add(world)
    first = await readings.preview(CHOIR.id, MONDAY)

    second = await readings.redraw(CHOIR.id, MONDAY)

    async with world.database.snapshot() as read:
        assert len(await history(read, CHOIR.id)) == 2
    assert first.reading_id != second.reading_id
    assert (await readings.preview(CHOIR.id, MONDAY)) == second
    assert (await readings.card(first.reading_id)).text == first.text


async def test_a_restart_composes_no_line_again(tmp_path):
    clock = FakeClock(SIX)
    async with open_world(tmp_path, clock) as world:
        readings = await add(world)
        before = await readings.preview(CHOIR.id, MONDAY)

    async with open_world(tmp_path, clock) as world:
        assert await world.services.readings.preview(CHOIR.id, MONDAY) == before


async def test_a_new_step_draws_the_coming_line_anew(world):
    readings = await add(world)
    before = await readings.preview(CHOIR.id, MONDAY)

    await world.services.choirs.change(replace(CHOIR, steps=Steps(pitch="p02")))
    after = await readings.preview(CHOIR.id, MONDAY)

    assert before.reading_id != after.reading_id


async def test_a_new_label_keeps_the_coming_line(world):
    readings = await add(world)
    before = await readings.preview(CHOIR.id, MONDAY)

    renamed = replace(TREBLE, label="Everyone")
    await world.services.choirs.change(replace(CHOIR, voices=(renamed,)))
    after = await readings.preview(CHOIR.id, MONDAY)

    assert before.reading_id == after.reading_id
    assert [part.label for part in after.parts] == ["Everyone"]


async def test_what_was_posted_stays_as_it_was_when_the_choir_moves_on(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        readings = await add(world)
        posted = await readings.post_now(CHOIR.id)

        await world.services.choirs.change(replace(BOTH, steps=Steps(pitch="p03")))
        (up,) = await readings.board(CHOIR.id)

    assert up.reading_id == posted.reading_id
    assert (up.text, len(up.parts)) == (posted.text, 1)


async def test_the_coming_days_tell_how_far_they_are(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        readings = await add(world)
        await readings.post_now(CHOIR.id)
        await readings.preview(CHOIR.id, TUESDAY)

        coming = await readings.upcoming(CHOIR.id, 3)

    assert [item.state for item in coming] == [
        UpcomingState.POSTED,
        UpcomingState.READY,
        UpcomingState.PLANNED,
    ]
    assert coming[0].at.isoformat() == "2026-09-14T08:00:00-04:00"
    assert coming[1].summary == "4/4, 69 beats a minute"


async def test_pictures_and_sounds_are_asked_for_as_each_part_needs_them(world):
    readings = await add(world, BOTH)
    card = await readings.preview(BOTH.id, MONDAY)

    for part in (0, 1):
        for media in (Media.PICTURE, Media.KEY_SOUND, Media.PITCH_SOUND):
            await readings.media(card.reading_id, Arrangement.TOGETHER, part, media)
    picture, key, pitch, low_picture, low_key, low_pitch = world.media.requests

    assert isinstance(picture, EngravingRequest)
    assert isinstance(low_picture, EngravingRequest)
    assert [picture.clefs, low_picture.clefs] == [(TREBLE.clef,), (BARITONE.clef,)]
    assert isinstance(key, SoundRequest)
    assert isinstance(key.sound, KeyGiving)
    assert isinstance(low_key.sound, KeyGiving)
    assert key.sound.key == low_key.sound.key
    assert key.sound.do.midi - low_key.sound.do.midi in (12, 24)
    assert isinstance(pitch.sound, StartingNote)
    assert TREBLE.range.holds(pitch.sound.pitch)
    assert BARITONE.range.holds(low_pitch.sound.pitch)


async def test_apart_each_voice_reads_in_its_own_key(world):
    readings = await add(world, BOTH)
    card = await readings.preview(BOTH.id, MONDAY)

    for part in (0, 1):
        await readings.media(card.reading_id, Arrangement.APART, part, Media.PICTURE)
    high, low = (request.exercise for request in world.media.requests)

    assert high.fingerprint() == low.fingerprint()
    assert all(TREBLE.range.holds(pitch) for pitch in high.pitches())
    assert all(BARITONE.range.holds(pitch) for pitch in low.pitches())


async def test_a_part_that_is_not_there_is_refused(world):
    readings = await add(world)
    card = await readings.preview(CHOIR.id, MONDAY)

    with pytest.raises(Refused, match=r"reading\.no_part"):
        await readings.media(card.reading_id, Arrangement.TOGETHER, 1, Media.PICTURE)


async def test_unknown_ids_are_refused(world):
    readings = await add(world)

    with pytest.raises(Refused, match=r"reading\.unknown"):
        await readings.card("nowhere")
    with pytest.raises(Refused, match=r"choir\.unknown"):
        await readings.board("nowhere")
    with pytest.raises(Refused, match=r"choir\.unknown"):
        await readings.preview("nowhere", MONDAY)


async def test_a_removed_choir_takes_its_readings_along(world):
    readings = await add(world)
    card = await readings.preview(CHOIR.id, MONDAY)

    await world.services.choirs.remove(CHOIR.id)

    with pytest.raises(Refused, match=r"reading\.unknown"):
        await readings.card(card.reading_id)


async def test_a_choir_that_no_line_fits_gets_the_rule_not_a_crash(world):
    narrow = replace(TREBLE, range=VoiceRange.parse("E4-F4", "E4-F4"))
    readings = await add(world, replace(CHOIR, voices=(narrow,)))

    with pytest.raises(NoExercise, match=r"refusal\.in_no_key"):
        await readings.preview(CHOIR.id, MONDAY)


async def test_an_example_for_the_form_is_kept_nowhere(world):
    picture = await world.services.readings.example(BOTH)

    async with world.database.snapshot() as read:
        (count,) = await read.rows("SELECT count(*) FROM readings")
    assert picture.startswith(b"rendered")
    assert count[0] == 0


@pytest.mark.long
@pytest.mark.parametrize("voices", [(TREBLE,), BOTH.voices], ids=["one voice", "two voices"])
async def test_no_line_comes_twice_in_a_hundred_days(world, voices):
    readings = await add(world, replace(CHOIR, voices=voices))

    for n in range(100):
        await readings.preview(CHOIR.id, date(2026, 9, 14) + timedelta(days=n))

    async with world.database.snapshot() as read:
        assert len(await history(read, CHOIR.id)) == 100


@pytest.mark.long
async def test_no_line_comes_twice_in_a_thousand_days(world):
    readings = await add(world)

    for n in range(1000):
        await readings.preview(CHOIR.id, date(2026, 9, 14) + timedelta(days=n))

    async with world.database.snapshot() as read:
        assert len(await history(read, CHOIR.id)) == 1000
