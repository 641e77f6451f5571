"""Clips of readings: what is asked of the worker, for a choir and from the command line."""

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction
from itertools import pairwise

import av
import pytest

from bot.activities.choir import Steps
from bot.activities.curtain import FIRST_SPAN, Fall, HomeWeek, beats_after, places
from bot.chat.room.pack import films_of
from bot.cli import main
from bot.errors import InputProblems, Refused
from bot.music.voice import Clef
from bot.service.clips import Earlier, clip_of, earlier, film_place, has_clip, loose_clip
from bot.service.placing import as_read
from bot.store.curtains import add_fall
from bot.store.home_spans import keep_home_week
from tests.fakes.choirs import BARITONE, MONDAY, TREBLE, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, content, open_world
from tests.music.lines import line

LINE = line("do:q re:q mi:q fa:q | so:q fa:q mi:h | re:q mi:q fa:q re:q | do:w")


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as opened:
        choir = a_choir(
            voices=(TREBLE, BARITONE), steps=Steps(pitch="p06", rhythm="r04"), measures=8
        )
        await opened.services.choirs.add(choir)
        yield opened


async def test_the_film_of_a_reading_is_the_same_for_whoever_sees_it(world):
    found = await world.services.lesson.line("choir-1")
    reading = await world.assembly.composing.find(found.card.reading_id)
    first = clip_of(reading, found.choir, 0, content().wording, Earlier())
    assert clip_of(reading, found.choir, 0, content().wording, Earlier()) == first
    assert first.curtain in {place.pulses for place in places(first.exercise, FIRST_SPAN)}
    low = clip_of(reading, found.choir, 1, content().wording, Earlier())
    assert low.clef is BARITONE.clef
    assert max(low.exercise.pitches()).midi < max(first.exercise.pitches()).midi
    with pytest.raises(Refused, match=r"reading\.no_part"):
        clip_of(reading, found.choir, 2, content().wording, Earlier())


def a_fall(on, spot, held):
    return Fall(on=on, spot=spot, left=20, held=held)


async def test_a_film_leaves_room_for_the_choirs_span_and_goes_elsewhere_than_the_class(world):
    found = await world.services.lesson.line("choir-1")
    reading = await world.assembly.composing.find(found.card.reading_id)
    today, yesterday = reading.on, reading.on - timedelta(days=1)
    plain = film_place(reading, 0, Earlier())
    async with world.database.transaction() as change:
        await add_fall(change, "choir-1", a_fall(yesterday, plain.spot, 9))
        await add_fall(change, "choir-1", a_fall(today, plain.spot, 1))
        last = HomeWeek(monday=today - timedelta(weeks=1), seats=9, middle=9.0)
        for week in (last, HomeWeek(monday=today, seats=9, middle=0.0)):
            await keep_home_week(change, "choir-1", week)
        before = await earlier(change, reading)
    # Only what was over when the day began: its film stays the same whatever the day brings.
    assert [fall.on for fall in before.falls] == [yesterday]
    assert before.at_home == (last,)
    place = film_place(reading, 0, before)
    pulses = reading.exercise.length / reading.exercise.metre.pulse
    assert place.spot != plain.spot
    assert place.pulses <= pulses - 2 - 9
    await world.services.play.clips.clip(reading.id, 0)
    assert world.media.requests[-1].curtain == place.pulses
    (beats, _) = await world.services.play.clips.beats_after(reading.id)
    assert beats == beats_after(as_read(reading, 0), place)
    assert len(beats) >= 11


async def test_the_films_of_a_week_go_away_at_places_of_their_own(world):
    found = await world.services.lesson.line("choir-1")
    clips, spots = world.services.play.clips, {0: [], 1: []}
    for days in range(5):
        on = NINE.date() + timedelta(days=days)
        reading = await world.assembly.composing.ensure(found.choir.id, on)
        async with world.database.snapshot() as read:
            before = await earlier(read, reading)
        assert len(before.week) == days
        for part, gone in spots.items():
            gone.append(film_place(reading, part, before).spot)
            await clips.clip(reading.id, part)
    assert all(len(set(gone)) == 5 for gone in spots.values())


async def test_films_of_weeks_side_by_side_never_go_away_at_one_place(world):
    """One and the same line, read on every day of four weeks."""
    found = await world.services.lesson.line("choir-1")
    reading = await world.assembly.composing.find(found.card.reading_id)
    weeks = []
    for week in range(4):
        days = [
            replace(reading, id=f"film-{week}-{day}", on=MONDAY + timedelta(weeks=week, days=day))
            for day in range(5)
        ]
        befores = [Earlier(week=tuple(days[:day])) for day in range(5)]
        gone = [film_place(*film).spot for film in zip(days, [0] * 5, befores, strict=True)]
        assert len(set(gone)) == 5
        weeks.append(set(gone))
    assert all(one.isdisjoint(other) for one, other in pairwise(weeks))
    # A beat comes round again, since a term has more films than a line has beats.
    assert weeks[0] & weeks[2] | weeks[1] & weeks[3]


async def test_a_pack_has_a_film_for_every_line_and_part(world):
    home = await world.services.papers.home.day("choir-1", NINE.date())
    films = await films_of(world.services, home)
    assert list(films) == [f"sing-along-{NINE.date()}-{part}.mp4" for part in (1, 2)]
    assert len(set(films.values())) == 2


def test_a_short_line_has_no_film():
    assert has_clip(LINE)
    assert not has_clip(line("do:w | do:w"))


def test_beat_and_tempo_that_cannot_be_are_told_together():
    with pytest.raises(InputProblems) as caught:
        loose_clip(LINE, Clef.TREBLE, content().wording, seed=0, beat=17, tempo_bpm=30)
    assert [fault.place for fault in caught.value.faults] == ["--curtain", "--tempo"]


def test_the_beat_is_counted_from_one():
    made = loose_clip(LINE, Clef.TREBLE, content().wording, seed=0, beat=9, tempo_bpm=None)
    assert made.curtain == Fraction(8)


def test_the_command_writes_a_film_that_plays(tmp_path, capsys):
    file = tmp_path / "new" / "clip.mp4"
    wish = ["clip", "--step", "p01,r01", "--voice", "treble", "--tempo", "120", "--curtain", "7"]
    assert main([*wish, "--out", str(file)]) == 0
    assert capsys.readouterr().out.strip() == str(file)
    with av.open(str(file)) as film:
        assert 10 < film.duration / av.time_base < 40
