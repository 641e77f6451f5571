"""The rhythms that each way of singing together gives to its parts."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import product
from random import Random

from bot.music.cell import silent
from bot.music.companion import LinePlan, RoomPlan
from bot.music.ensemble import Layout, alike, slow
from bot.music.frames import Frame
from bot.music.patterns import PHRASE, Filling, Pattern, may_stand, with_pickup
from bot.music.rhythms import Path

_FIGURES = 12  # figures of an ostinato that are tried over one rhythm
_INNER = (1, 2)  # measures of a phrase in which a lower part may hold on


def thirds(plan: RoomPlan, frame: Frame, path: Path) -> Iterator[Layout]:
    """All parts in one rhythm."""
    yield from alike(plan, frame, path)


def unlike(plan: RoomPlan, frame: Frame, path: Path) -> Iterator[Layout]:
    """The lowest part holds on in one inner measure of each phrase, moves along elsewhere."""
    measures = frame.line(path)
    held = slow(plan.lines[-1].level, frame.metre, 1)[0]
    random = _settled(frame, path)
    lower = list(measures)
    for phrase in range(0, len(measures), PHRASE):
        places = [phrase + inner for inner in _INNER if measures[phrase + inner].notes > held.notes]
        if places:
            lower[random.choice(places)] = held
    yield Layout((*[measures] * (len(plan.lines) - 1), tuple(lower)), {})


def ostinato(plan: RoomPlan, frame: Frame, path: Path) -> Iterator[Layout]:
    """Figures for the lowest part, in an order that the rhythm above settles."""
    measures, line = frame.line(path), plan.lines[-1]
    cells = [c for c in line.level.cells if len(c.notes) == 1 and not c.notes[0].rest and c.plain]
    patterns = [
        pattern
        for pattern in Filling(tuple(cells), frame.metre).patterns()
        if pattern.notes <= 3 and may_stand(pattern, PHRASE - 1, 2 * PHRASE, frame.metre)
    ]
    pickup = frame.pickup
    left = pickup.duration if pickup else Fraction(0)
    ends = [
        pattern
        for pattern in Filling(tuple(cells), frame.metre, left).patterns()
        if may_stand(pattern, len(measures) - 1, len(measures), frame.metre) and pattern.notes <= 2
    ]
    figures = [(pattern, tones) for pattern in patterns for tones in _figures(line, pattern)]
    random = _settled(frame, path)
    for pattern, tones in random.sample(figures, min(_FIGURES, len(figures))):
        last = min(ends, key=lambda each: each.notes)
        given = [*tones] * (len(measures) - 1)
        given += [line.tones.index(line.level.conditions.end)] * last.notes
        first = with_pickup(pattern, silent(pickup), frame.metre) if pickup else pattern
        rhythm = (first, *[pattern] * (len(measures) - 2), last)
        yield Layout((*[measures] * (len(plan.lines) - 1), rhythm), {len(plan.lines) - 1: given})


def _figures(line: LinePlan, pattern: Pattern) -> list[tuple[int, ...]]:
    """Places of tones for a figure: it uses all it can, and begins on the tonic if it is there."""
    tones = line.tones
    number = [place for place, tone in enumerate(tones) if line.level.degree(tone) == 0]
    return [
        figure
        for figure in product(range(len(tones)), repeat=pattern.notes)
        if len(set(figure)) == min(len(tones), pattern.notes)
        and (not number or figure[0] in number)
    ]


def _settled(frame: Frame, path: Path) -> Random:
    """Chance that is the same whenever the same rhythm comes."""
    return Random(f"{frame.metre} {frame.form.letters} {path}")  # noqa: S311 -- see above
