"""Clips of a reading: what to ask the media worker for, for a choir at home and for no choir."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from fractions import Fraction

from bot.activities.choir import Choir, Presentation
from bot.activities.curtain import (
    Fall,
    HomeWeek,
    Place,
    Spot,
    beats_after,
    drawn,
    own_span,
    places,
)
from bot.activities.reading import Reading
from bot.activities.tempo import reading_tempo_bpm
from bot.errors import Fault, InputProblems, Refused
from bot.media.request import Captions, ClipRequest
from bot.music.exercise import Exercise
from bot.music.solfa import Naming
from bot.music.voice import Clef
from bot.service.choirs import Choirs
from bot.service.composing import Composing
from bot.service.media_requests import MediaSource
from bot.service.placing import as_read
from bot.store.curtains import falls_of
from bot.store.database import Database, Snapshot
from bot.store.home_spans import home_weeks
from bot.store.readings import current_reading
from bot.wording import Wording

TEMPI_BPM = (40, 160)


@dataclass(frozen=True, slots=True, kw_only=True)
class Clips:
    """The clips of what stands on a choir's board; each is made when it is first asked for."""

    database: Database
    choirs: Choirs
    composing: Composing
    media: MediaSource
    say: Wording

    async def clip(self, reading_id: str, part: int) -> bytes:
        """The clip of one part, from 0, as MP4.

        Refused("reading.no_part"), or ("curtain.short") for a line without room for the curtain;
        RenderFailed.
        """
        reading = await self.composing.find(reading_id)
        choir = await self.choirs.get(reading.choir_id)
        async with self.database.snapshot() as read:
            before = await earlier(read, reading)
        return await self.media.get_or_make(clip_of(reading, choir, part, self.say, before))

    async def beats_after(self, reading_id: str) -> tuple[tuple[Spot, ...], ...]:
        """For each part the beats that its film leaves to sing once the page has gone.

        Refused("curtain.short") for a line without room for the curtain.
        """
        reading = await self.composing.find(reading_id)
        async with self.database.snapshot() as read:
            return films_beats(reading, await earlier(read, reading))


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """What went before a reading's own day: it decides where the page goes in its films.

    `week` are the readings of the days before in the same week, in order.
    """

    falls: tuple[Fall, ...] = ()
    at_home: tuple[HomeWeek, ...] = ()
    week: tuple[Reading, ...] = ()


async def earlier(read: Snapshot, reading: Reading) -> Earlier:
    """What was over when a reading's day began: falls, weeks at home, the days of its own week."""
    week = timedelta(weeks=1)
    falls = await falls_of(read, reading.choir_id)
    weeks = await home_weeks(read, reading.choir_id)
    before = [reading.on - timedelta(days=days) for days in range(reading.on.weekday(), 0, -1)]
    lines = [await current_reading(read, reading.choir_id, on, reading.slot) for on in before]
    return Earlier(
        falls=tuple(fall for fall in falls if fall.on < reading.on),
        at_home=tuple(each for each in weeks if each.monday + week <= reading.on),
        week=tuple(line for line in lines if line is not None),
    )


def films_beats(reading: Reading, before: Earlier) -> tuple[tuple[Spot, ...], ...]:
    """The beats behind the curtain in the film of each part; Refused("curtain.short")."""
    return tuple(
        beats_after(as_read(reading, part), film_place(reading, part, before))
        for part in range(len(reading.parts))
    )


def clip_of(
    reading: Reading, choir: Choir, part: int, say: Wording, before: Earlier
) -> ClipRequest:
    """The clip of one part of a reading: the curtain falls at one place for whoever sees it."""
    if not 0 <= part < len(reading.parts):
        raise Refused("reading.no_part", part=part + 1)
    exercise = as_read(reading, part)
    return clip_request(
        exercise,
        reading.parts[part].clef,
        say,
        shown=choir.presentation,
        tempo_bpm=reading_tempo_bpm(exercise, choir.presentation.tempo_bpm),
        curtain=film_place(reading, part, before).pulses,
    )


def film_place(reading: Reading, part: int, before: Earlier) -> Place:
    """Where the page goes in the film of one part, from 0; Refused("curtain.short").

    Far enough from the end for the choir's own span, not where the page went in class before it,
    nor in the films of the same part earlier in the week or in the weeks on either side, where a
    line has places enough.
    """
    earlier_days: list[tuple[Place | None, ...]] = []
    for day in before.week:
        films = range(len(day.parts))
        earlier_days.append(tuple(_film(day, film, before, earlier_days) for film in films))
    place = _film(reading, part, before, earlier_days)
    if place is None:
        raise Refused("curtain.short")
    return place


def _film(
    reading: Reading, part: int, before: Earlier, days: Sequence[Sequence[Place | None]]
) -> Place | None:
    """The place of one film after those of some days, a tuple of parts each; None: no room."""
    digest = hashlib.sha256(f"clip {reading.id} {part}".encode()).digest()
    seed = int.from_bytes(digest[:8], "big")
    taken = [films[min(part, len(films) - 1)] for films in days]
    apart = [place.spot for place in taken if place is not None]
    now = replace(before, falls=tuple(fall for fall in before.falls if fall.on < reading.on))
    try:
        return _place_of(as_read(reading, part), seed, now, apart, reading)
    except Refused:
        return None


def _of_other_weeks(spot: Spot, reading: Reading) -> bool:
    """Whether a spot is left to the weeks before and after a reading's own.

    One week has every other beat and the next week those between, which ones in each measure is
    the choir's own: so no film has to know those of another week.
    """
    week = (reading.on.toordinal() - 1) // 7
    digest = hashlib.sha256(f"weeks {reading.choir_id} {spot.measure}".encode()).digest()
    return bool((int(spot.beat) + week + digest[0]) % 2)


def has_clip(exercise: Exercise) -> bool:
    """Whether a line has room for the curtain."""
    try:
        curtain_of(exercise, 0)
    except Refused:
        return False
    return True


def curtain_of(exercise: Exercise, seed: int) -> Fraction:
    """Where the curtain falls, in pulses from the beginning; Refused("curtain.short")."""
    return _place_of(exercise, seed, Earlier()).pulses


def _place_of(
    exercise: Exercise,
    seed: int,
    before: Earlier,
    apart: Sequence[Spot] = (),
    film_of: Reading | None = None,
) -> Place:
    try:
        span = own_span(before.falls, before.at_home)
        others = [
            place.spot
            for place in places(exercise, span)
            if film_of is not None and _of_other_weeks(place.spot, film_of)
        ]
        return drawn(exercise, before.falls, seed, span, [*others, *apart])
    except ValueError as error:
        raise Refused("curtain.short") from error


def clip_request(
    exercise: Exercise,
    clef: Clef,
    say: Wording,
    *,
    shown: Presentation,
    tempo_bpm: int,
    curtain: Fraction,
) -> ClipRequest:
    """The request for a clip of one line, with its sentences."""
    numbers = shown.solfa.naming is Naming.NUMBERS
    return ClipRequest(
        exercise=exercise,
        clef=clef,
        curtain=curtain,
        captions=Captions(
            key=say("clip.key"),
            start=say("clip.start"),
            count=say("clip.count"),
            sing=say("clip.sing"),
            away=say("clip.away"),
            again=say("clip.again"),
        ),
        tempo_bpm=tempo_bpm,
        pattern=shown.key_pattern,
        a4_hz=shown.a4_hz,
        gives_pitch=shown.give_pitch,
        mark_do=shown.mark_do,
        do_name="1" if numbers else "do",
        do_is_tonic=numbers or shown.solfa.do_based_minor,
    )


def loose_clip(
    exercise: Exercise,
    clef: Clef,
    say: Wording,
    *,
    seed: int,
    beat: int | None,
    tempo_bpm: int | None,
) -> ClipRequest:
    """The request for a clip of a line of no choir; `beat` counts from 1, None draws it.

    InputProblems lists what is wrong with beat and tempo.
    """
    faults = []
    beats = int(exercise.length / exercise.metre.pulse)
    if beat is not None and not 1 <= beat <= beats:
        remedy = f"from 1 to {beats}"
        faults.append(Fault(place="--curtain", problem=f"there is no beat {beat}", remedy=remedy))
    slowest, fastest = TEMPI_BPM
    if tempo_bpm is not None and not slowest <= tempo_bpm <= fastest:
        problem = f"{tempo_bpm} beats a minute"
        remedy = f"from {slowest} to {fastest}"
        faults.append(Fault(place="--tempo", problem=problem, remedy=remedy))
    if faults:
        raise InputProblems(faults)
    return clip_request(
        exercise,
        clef,
        say,
        shown=Presentation(),
        tempo_bpm=tempo_bpm or reading_tempo_bpm(exercise, None),
        curtain=curtain_of(exercise, seed) if beat is None else Fraction(beat - 1),
    )
