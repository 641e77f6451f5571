"""The rhythms that each way of singing together gives to its parts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
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
    """The lowest part holds on in one inner measure of each phrase, moves along elsewhere.

    It does so beside measures that hold no note over a bar line.
    """
    measures = frame.line(path)
    held = slow(plan.lines[-1].level, frame.metre, 1)[0]
    random = _settled(frame, path)
    lower = list(measures)
    for phrase in range(0, len(measures), PHRASE):
        places = [
            phrase + inner
            for inner in _INNER
            if (measure := measures[phrase + inner]).notes > held.notes
            and not (measure.held or measure.over)
        ]
        if places:
            lower[random.choice(places)] = held
    yield Layout((*[measures] * (len(plan.lines) - 1), tuple(lower)), {})


def ostinato(plan: RoomPlan, frame: Frame, path: Path) -> Iterator[Layout]:
    """Figures for the lowest part, in an order that the rhythm above settles."""
    line = plan.lines[-1]
    patterns = [
        pattern for pattern in _plain_measures(line, frame, inner=True) if pattern.notes <= 3
    ]
    figures = [(pattern, tones) for pattern in patterns for tones in _figures(line, pattern)]
    random = _settled(frame, path)
    for pattern, tones in random.sample(figures, min(_FIGURES, len(figures))):
        yield _repeated(plan, frame, path, pattern, tones)


def pedal(plan: RoomPlan, frame: Frame, path: Path) -> Iterator[Layout]:
    """The lowest part holds one tone in the longest notes of the step, and ends on the tonic.

    Do and so take turns as the tone that is tried first, as the rhythm above settles.
    """
    line = plan.lines[-1]
    longest = min(_plain_measures(line, frame, inner=True), key=lambda each: each.notes)
    tones = [*range(len(line.tones))]
    _settled(frame, path).shuffle(tones)
    for tone in tones:
        yield _repeated(plan, frame, path, longest, (tone,) * longest.notes)


def _plain_measures(line: LinePlan, frame: Frame, *, inner: bool) -> list[Pattern]:
    """Measures of single notes without rests that may stand within a phrase, or at the end."""
    cells = [c for c in line.level.cells if len(c.notes) == 1 and not c.notes[0].rest and c.plain]
    left = frame.pickup.duration if frame.pickup and not inner else Fraction(0)
    place = (PHRASE - 1, 2 * PHRASE) if inner else (frame.measures - 1, frame.measures)
    return [
        pattern
        for pattern in Filling(tuple(cells), frame.metre, left).patterns()
        if may_stand(pattern, *place, frame.metre)
    ]


def _repeated(
    plan: RoomPlan, frame: Frame, path: Path, pattern: Pattern, tones: Sequence[int]
) -> Layout:
    """The lines above in their rhythm; the lowest says one measure over and over until its end."""
    measures, line = frame.line(path), plan.lines[-1]
    last = min(_plain_measures(line, frame, inner=False), key=lambda each: each.notes)
    given = [*tones] * (len(measures) - 1)
    given += [line.tones.index(line.level.conditions.end)] * last.notes
    pickup = frame.pickup
    first = with_pickup(pattern, silent(pickup), frame.metre) if pickup else pattern
    rhythm = (first, *[pattern] * (len(measures) - 2), last)
    return Layout((*[measures] * (len(plan.lines) - 1), rhythm), {len(plan.lines) - 1: given})


def _figures(line: LinePlan, pattern: Pattern) -> list[tuple[int, ...]]:
    """Places of tones for a figure: it uses all it can, and begins on the tonic if it is there."""
    tones, first = line.tones, figure_begins(line)
    return [
        figure
        for figure in product(range(len(tones)), repeat=pattern.notes)
        if len(set(figure)) == min(len(tones), pattern.notes) and figure[0] in first
    ]


def figure_begins(line: LinePlan) -> tuple[int, ...]:
    """Places of the tones on which a figure may begin: the tonic, any where it is not there."""
    places = range(len(line.tones))
    tonic = tuple(place for place in places if line.level.degree(line.tones[place]) == 0)
    return tonic or tuple(places)


def _settled(frame: Frame, path: Path) -> Random:
    """Chance that is the same whenever the same rhythm comes."""
    return Random(f"{frame.metre} {frame.form.letters} {path}")  # noqa: S311 -- see above
