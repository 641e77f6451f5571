"""The curtain: at which beat the page goes away, and how far ahead a choir has read by then.

Pure. A choir's journal of falls knows dates, places in music and beats of a whole class; nothing in
it is about a seat. The choir's span is the number of beats that it sings after the page has gone;
what singers told from home joins it a week at a time, as the middle of all who did.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from math import ceil
from random import Random
from statistics import median

from bot.music.exercise import Exercise

FIRST_SPAN = 2  # beats, for a choir of which nothing is known yet
MOST_LIKELY = Fraction(1, 3)  # no place is surer than this
_ENDING = 2  # beats at the end that are always still to come, over and above the span
_LATEST = 8  # falls that make the choir's present span
_FEWEST = 4  # places, of which one may be the last one used
_DISUSE = 16  # how much likelier a place becomes for each time that it was used less
_DEEPEST = 3  # times that are counted so
_INSIDE, _AT_BEGINNING = 3, 1  # how likely, within a phrase and on its first beat


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Spot:
    """A place as musicians count: measure and beat, both from 1."""

    measure: int
    beat: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where the curtain may fall: `pulses` after the beginning of the line."""

    pulses: Fraction
    spot: Spot


@dataclass(frozen=True, slots=True, kw_only=True)
class Fall:
    """One fall of the curtain before a choir.

    `left` beats were still to be sung, and `held` of them were, as the director counted for the
    whole class; None where nobody counted. `by_hand`: the director let it fall.
    """

    on: date
    spot: Spot
    left: int
    held: int | None = None
    by_hand: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SpanWeek:
    """The counted falls of one week, in beats: the middle one, the least and the most."""

    monday: date
    times: int
    middle: float
    least: int
    most: int


@dataclass(frozen=True, slots=True, kw_only=True)
class HomeWeek:
    """What the seats of a choir told of one week's singing at home: how many, and their middle."""

    monday: date
    seats: int
    middle: float


def chances(
    exercise: Exercise,
    falls: Sequence[Fall],
    span: int | None = None,
    apart: Sequence[Spot] = (),
) -> tuple[tuple[Place, Fraction], ...]:
    """Every place where the curtain may fall now, with its exact chance given the whole history.

    None is above one third, the place of the last fall has none, and places that were used less
    are likelier. `span` is the choir's own where it is not given. Places `apart`, the latest last,
    have none either, as many of them as leave enough others. ValueError for a line that is too
    short to have enough places.
    """
    span = own_span(falls) if span is None else span
    uses = {
        place: sum(fall.spot == place.spot for fall in falls) for place in places(exercise, span)
    }
    most = max(uses.values())
    starts = _phrase_starts(exercise)
    taken = [fall.spot for fall in falls[-1:]] + [*reversed(apart)]
    here = [spot for spot in dict.fromkeys(taken) if spot in {place.spot for place in uses}]
    barred = here[: len(uses) - _FEWEST + 1]
    weights = {
        place: (_AT_BEGINNING if place.pulses in starts else _INSIDE)
        * _DISUSE ** min(most - used, _DEEPEST)
        for place, used in uses.items()
        if place.spot not in barred
    }
    return tuple(zip(weights, _capped([Fraction(w) for w in weights.values()]), strict=True))


def drawn(
    exercise: Exercise,
    falls: Sequence[Fall],
    seed: int,
    span: int | None = None,
    apart: Sequence[Spot] = (),
) -> Place:
    """Draw where the curtain falls next; ValueError as `chances`."""
    at = Fraction(Random(seed).getrandbits(53), 2**53)  # noqa: S311 -- a place on a page
    within = Fraction(0)
    choices = chances(exercise, falls, span, apart)
    for place, chance in choices:
        within += chance
        if at < within:
            return place
    return choices[-1][0]


def places(exercise: Exercise, span: int) -> tuple[Place, ...]:
    """Where the page may go: after the first bar line, two beats and the span before the end.

    On beats; not on the last beat of a phrase, where the next one is not yet read, unless a short
    line has no other places; then also between beats. A choir that reads farther ahead than a line
    goes on gets the earliest places. ValueError where there are fewer than four.
    """
    pulse = exercise.metre.pulse
    first = (exercise.pickup + exercise.metre.measure) / pulse
    earliest, end = first + Fraction(_FEWEST - 1, 2), exercise.length / pulse - _ENDING
    last = max(end - span, earliest) if end - FIRST_SPAN >= earliest else end - span
    beats = [first + n for n in range(int(last - first) + 1)] if last >= first else []
    starts = _phrase_starts(exercise)
    whole = [beat for beat in beats if beat + 1 not in starts]
    halves = [first + Fraction(n, 2) for n in range(int((last - first) * 2) + 1)] if beats else []
    for choice in (whole, beats, halves):
        if len(choice) >= _FEWEST:
            return tuple(place_at(exercise, pulses) for pulses in choice)
    raise ValueError(f"a line of {exercise.measures} measures has no room for the curtain")


def place_at(exercise: Exercise, pulses: Fraction) -> Place:
    """The place so many pulses after the beginning."""
    measure, beat = exercise.place(pulses * exercise.metre.pulse)
    return Place(pulses=pulses, spot=Spot(measure=measure, beat=beat))


def left_after(exercise: Exercise, place: Place) -> int:
    """How many whole beats are still to be sung once the page has gone there."""
    return int(exercise.length / exercise.metre.pulse - place.pulses)


def beats_after(exercise: Exercise, place: Place) -> tuple[Spot, ...]:
    """The whole beats that are still to be sung once the page has gone there, one after another."""
    first = place.pulses + ceil(place.spot.beat) - place.spot.beat
    whole = int(exercise.length / exercise.metre.pulse - first)
    return tuple(place_at(exercise, first + number).spot for number in range(whole))


def own_span(falls: Iterable[Fall], at_home: Iterable[HomeWeek] = ()) -> int:
    """The choir's span in beats: the middle of its latest counts; two before any.

    A week at home is one count, of its Sunday.
    """
    counts: list[tuple[date, float]] = [
        (fall.on, fall.held) for fall in falls if fall.held is not None
    ]
    counts += [(week.monday + timedelta(days=6), week.middle) for week in at_home]
    latest = [held for _, held in sorted(counts, key=lambda count: count[0])[-_LATEST:]]
    return int(median(latest)) if latest else FIRST_SPAN


def home_week(monday: date, told: Sequence[int], least: int) -> HomeWeek | None:
    """What the seats told of a week as one figure of the class; None for fewer than `least`."""
    if len(told) < max(least, 1):
        return None
    return HomeWeek(monday=monday, seats=len(told), middle=float(median(told)))


def span_weeks(falls: Iterable[Fall]) -> tuple[SpanWeek, ...]:
    """The choir's span week by week, the oldest first; weeks without a count are left out."""
    weeks: dict[date, list[int]] = {}
    for fall in falls:
        if fall.held is not None:
            weeks.setdefault(fall.on - timedelta(days=fall.on.weekday()), []).append(fall.held)
    return tuple(
        SpanWeek(
            monday=monday,
            times=len(held),
            middle=float(median(held)),
            least=min(held),
            most=max(held),
        )
        for monday, held in sorted(weeks.items())
    )


def _phrase_starts(exercise: Exercise) -> frozenset[Fraction]:
    """First pulses of the phrases: every four measures of a long line, every two of a short one.

    A rest also ends a phrase, for the note behind it begins anew.
    """
    pulse, measure = exercise.metre.pulse, exercise.metre.measure
    step = measure * (4 if exercise.measures >= 8 else 2)
    found = {Fraction(0)}
    offset = exercise.pickup + step
    while offset < exercise.length:
        found.add(offset / pulse)
        offset += step
    resting = False
    for offset, note in exercise.parts[0].timed():
        if resting and note.tone is not None:
            found.add(Fraction(offset // pulse))
        resting = note.tone is None
    return frozenset(found)


def _capped(weights: list[Fraction]) -> list[Fraction]:
    """Weights as chances that sum to one, none above `MOST_LIKELY`; the rest share what is over."""
    full: set[int] = set()
    while True:
        rest = 1 - MOST_LIKELY * len(full)
        sum_ = sum((w for n, w in enumerate(weights) if n not in full), Fraction(0))
        found = [
            MOST_LIKELY if n in full else (weight * rest / sum_) for n, weight in enumerate(weights)
        ]
        over = {n for n, chance in enumerate(found) if chance > MOST_LIKELY}
        if not over:
            return found
        full |= over
