"""Whether several parts keep the rules of singing together: a second opinion on what was composed.

Written from the rules and not from the composer's tables, which it does not import: it looks at the
finished music only. Parts with the very same line (an octave apart) are one line sung by two.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations, pairwise
from typing import NamedTuple

from bot.music.breach import Breach, Rule, breach_at
from bot.music.check_rhythm import phrase_length
from bot.music.exercise import Exercise, Part

_PERFECT, _IMPERFECT = (0, 7), (3, 4, 8, 9)
_FOURTH, _STEP = 5, 2  # semitones
# Semitones and scale steps: do under si is four semitones wide and no third.
_CONSONANT = {(0, 0), (7, 4), (3, 2), (4, 2), (8, 5), (9, 5)}


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRules:
    """What is asked beyond consonance and no parallels.

    `crossing`: parts may change places. `chain`: so many moves in parallel thirds or sixths running
    at most, whatever is repeated among them. `full`: root and third of a triad on strong beats, for
    three lines. `drone`: a fourth may stand above the lowest part.
    """

    crossing: bool = False
    chain: int | None = None
    full: bool = False
    drone: bool = False


class _Moment(NamedTuple):
    """What sounds from `offset` on: heights in semitones, scale steps; None for a silent part."""

    offset: Fraction
    heights: tuple[int | None, ...]
    steps: tuple[int | None, ...]
    strong: bool
    edge: bool  # where a phrase begins or ends


def check_parts(exercise: Exercise, rules: PartRules | None = None) -> tuple[Breach, ...]:
    """Every rule of singing together that the parts break, in the order of places."""
    asked = rules or PartRules()
    moments = _moments(exercise)
    lines = _lines(exercise.parts)
    found: list[Breach] = []
    for high, low in combinations(range(len(exercise.parts)), 2):
        if lines[high] != lines[low]:
            outer = (high, low) == (0, len(exercise.parts) - 1)
            found += _stands(exercise, moments, high, low, asked)
            found += _moves(exercise, moments, high, low, outer=outer)
            if asked.chain is not None:
                found += _chains(exercise, moments, high, low, asked.chain)
    if asked.full and len(set(lines)) == 3:
        found += _hollow(exercise, moments)
    return tuple(sorted(found, key=lambda breach: (breach.measure, breach.beat)))


def _lines(parts: Sequence[Part]) -> list[int]:
    """The number of the first part with the same notes, for each part."""
    return [next(n for n, other in enumerate(parts) if other.notes == part.notes) for part in parts]


def _moments(exercise: Exercise) -> list[_Moment]:
    rows = [list(part.timed()) for part in exercise.parts]
    offsets = sorted({offset for row in rows for offset, _ in row})
    phrase, found = phrase_length(exercise), []
    lasts = [_last_of_phrases(exercise, part) for part in exercise.parts]
    for offset in offsets:
        heights: list[int | None] = []
        steps: list[int | None] = []
        long = edge = False
        for number, row in enumerate(rows):
            start, note = next(each for each in reversed(row) if each[0] <= offset)
            tone = note.tone
            heights.append(None if tone is None else exercise.pitch(tone, number).midi)
            steps.append(None if tone is None else tone.step)
            if start == offset and tone is not None:
                long = long or note.duration > exercise.metre.pulse
                edge = edge or offset in lasts[number] or offset % phrase == 0
        strong = exercise.metre.strength(offset - exercise.pickup) >= 2 or long or edge
        found.append(_Moment(offset, tuple(heights), tuple(steps), strong, edge))
    return found


def _last_of_phrases(exercise: Exercise, part: Part) -> set[Fraction]:
    length = phrase_length(exercise)
    last = {offset // length: offset for offset, note in part.timed() if note.tone is not None}
    return set(last.values())


def _stands(
    exercise: Exercise, moments: Sequence[_Moment], high: int, low: int, rules: PartRules
) -> Iterator[Breach]:
    """Crossing, and dissonance that is neither weak nor passing."""
    for number, moment in enumerate(moments):
        above, below = moment.heights[high], moment.heights[low]
        upper, lower = moment.steps[high], moment.steps[low]
        if above is None or below is None or upper is None or lower is None:
            continue
        if above < below and not rules.crossing:
            yield breach_at(exercise, moment.offset, Rule.CROSSING, _parts(high, low))
        steps = upper - lower if above >= below else lower - upper
        kind = abs(above - below) % 12, steps % 7
        bass = min(h for h in moment.heights if h is not None)
        fourth = kind == (_FOURTH, 3) and (min(above, below) != bass or rules.drone)
        good = kind in _CONSONANT or fourth
        if not good and (moment.strong or not _passes(moments, number)):
            yield breach_at(exercise, moment.offset, Rule.DISSONANCE, _parts(high, low))


def _passes(moments: Sequence[_Moment], number: int) -> bool:
    """Whether one height came by step while the others stayed, and all go on by step."""
    if number == 0 or number + 1 == len(moments):
        return False
    came = _sizes(moments[number - 1], moments[number])
    gone = _sizes(moments[number], moments[number + 1])
    moved = [size for size in came if size]
    return bool(moved) and max(moved) <= _STEP and len(moved) < len(came) and max(gone) <= _STEP


def _sizes(one: _Moment, other: _Moment) -> list[int]:
    return [
        abs(b - a)
        for a, b in zip(one.heights, other.heights, strict=True)
        if a is not None and b is not None
    ] or [0]


def _moves(
    exercise: Exercise, moments: Sequence[_Moment], high: int, low: int, *, outer: bool
) -> Iterator[Breach]:
    """Parallel and hidden perfect intervals, and two leaps the same way."""
    for one, other in pairwise(moments):
        a, b, c, d = one.heights[high], one.heights[low], other.heights[high], other.heights[low]
        if a is None or b is None or c is None or d is None or a == c or b == d:
            continue
        was, now = abs(a - b) % 12, abs(c - d) % 12
        similar = (c > a) == (d > b)
        if was == now and now in _PERFECT:
            yield breach_at(exercise, other.offset, Rule.PARALLEL, _parts(high, low))
        elif outer and similar and now in _PERFECT and abs(c - a) > _STEP:
            yield breach_at(exercise, other.offset, Rule.HIDDEN, _parts(high, low))
        if similar and abs(c - a) >= _FOURTH and abs(d - b) >= _FOURTH:
            yield breach_at(exercise, other.offset, Rule.BOTH_LEAP, _parts(high, low))


def _chains(
    exercise: Exercise, moments: Sequence[_Moment], high: int, low: int, most: int
) -> Iterator[Breach]:
    run = 0
    for one, other in pairwise(moments):
        a, b, c, d = one.heights[high], one.heights[low], other.heights[high], other.heights[low]
        if a is None or b is None or c is None or d is None:
            run = 0
            continue
        if max(_sizes(one, other)) == 0:
            continue
        kept = abs(a - b) % 12 in _IMPERFECT and abs(c - d) % 12 in _IMPERFECT
        same = abs(abs(a - b) - abs(c - d)) <= 1 and a != c and b != d and (c > a) == (d > b)
        run = run + 1 if kept and same else 0
        if run == most + 1:
            yield breach_at(exercise, other.offset, Rule.CHAIN, _parts(high, low))


def _hollow(exercise: Exercise, moments: Sequence[_Moment]) -> Iterator[Breach]:
    """Strong beats without root and third of a triad; a bare octave may stand at the edges."""
    for moment in moments:
        degrees = [step % 7 for step in moment.steps if step is not None]
        if not moment.strong or len(degrees) < len(moment.steps):
            continue
        if moment.edge and len(set(degrees)) == 1:
            continue
        triad = any(
            {root, (root + 2) % 7} <= set(degrees) <= {root, (root + 2) % 7, (root + 4) % 7}
            for root in range(6)
        )
        if not triad or degrees.count(6) > 1:
            yield breach_at(exercise, moment.offset, Rule.HOLLOW, "-".join(map(str, degrees)))


def _parts(high: int, low: int) -> str:
    return f"{high + 1}-{low + 1}"


def check_canon(exercise: Exercise, entry: int) -> tuple[Breach, ...]:
    """Whether each later part waits for so many measures and then sings what the first one sang."""
    found = []
    start = entry * exercise.metre.measure
    first = [(offset + start, note) for offset, note in exercise.parts[0].timed()]
    for number, part in enumerate(exercise.parts[1:], start=2):
        row = list(part.timed())
        silent = [note.tone is None for offset, note in row if offset < start]
        sung = [each for each in row if each[0] >= start]
        if not all(silent) or sung != first[: len(sung)]:
            found.append(breach_at(exercise, start, Rule.COPY, str(number)))
    return tuple(found)
