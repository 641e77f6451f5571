"""How much a line asks of its readers: hard spots, and its place among lines of its own step.

The load of an atom is the square of its step's rank in its track (1 for the last step), so that the
new weighs more than the old; what no step brings weighs as a step after the last would. The measure
is this program's own: it orders lines of one step, and says nothing about a singer.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction
from random import Random

from bot.errors import InputProblems, NoExercise
from bot.music.composer import Composer
from bot.music.exercise import Exercise
from bot.music.level import level_of
from bot.music.needs import Atom, Kind, Needs, needs
from bot.music.pitch import Key
from bot.music.sequence import Sequence, Track

YARDSTICK = 60  # lines of a step that a line is held against
_HARD = 0.6  # of the hardest place: what lies below it is no hard spot
_WHOLE_LINE = frozenset({Kind.METRE, Kind.MODE, Kind.PARTS})  # at the first note, but of the line


@dataclass(frozen=True, slots=True, kw_only=True)
class HardSpot:
    """A place with what makes it hard, the heaviest atom first."""

    measure: int
    beat: Fraction
    load: float
    atoms: tuple[Atom, ...]


def atom_load(atom: Atom, sequence: Sequence) -> float:
    """The load of one atom, above 0."""
    ids = [step.id for step in sequence.track(atom.track)]
    rank = len(ids) + 1 if atom.step is None else ids.index(atom.step) + 1
    return (rank / len(ids)) ** 2


def line_load(found: Needs, sequence: Sequence, measures: int) -> float:
    """The load of a whole line for each of its measures."""
    return sum(atom_load(atom, sequence) for atom in found.atoms) / max(measures, 1)


def hard_spots(found: Needs, sequence: Sequence, most: int = 4) -> tuple[HardSpot, ...]:
    """The places at which most comes together, in the order of the line; none in an even line."""
    places: defaultdict[tuple[int, Fraction], list[Atom]] = defaultdict(list)
    for atom in found.atoms:
        if atom.kind not in _WHOLE_LINE:
            places[atom.measure, atom.beat].append(atom)
    spots = [
        HardSpot(
            measure=measure,
            beat=beat,
            load=sum(atom_load(atom, sequence) for atom in atoms),
            atoms=_telling(sorted(atoms, key=lambda atom: -atom_load(atom, sequence)), sequence),
        )
        for (measure, beat), atoms in places.items()
    ]
    if not spots:
        return ()
    hardest = max(spot.load for spot in spots)
    usual = sorted(spot.load for spot in spots)[len(spots) // 2]
    hard = [spot for spot in spots if spot.load >= _HARD * hardest and spot.load > 1.25 * usual]
    chosen = sorted(hard, key=lambda spot: -spot.load)[:most]
    return tuple(sorted(chosen, key=lambda spot: (spot.measure, spot.beat)))


def _telling(atoms: list[Atom], sequence: Sequence) -> tuple[Atom, ...]:
    """Those that a reader did not begin with (do, a quarter); all where there are no others."""
    first = {sequence.lowest(track).id for track in Track}
    return tuple([atom for atom in atoms if atom.step not in first] or atoms)


def yardstick(sequence: Sequence, steps: tuple[str, str], lines: int = YARDSTICK) -> list[float]:
    """The loads of lines composed at a pitch and a rhythm step, sorted; always the same ones.

    Empty where the two steps make no music together.
    """
    loads = []
    try:
        level = level_of(sequence, steps)
        composer = Composer(level, level.tones)
        key = Key(fifths=0, mode=level.mode)  # atoms know no key, but major and minor
        for seed in range(lines):
            line = composer.draw(Random(seed))  # noqa: S311 -- the same lines every time
            loads.append(load_of(line.exercise(key, 4), sequence))
    except (InputProblems, NoExercise):
        return []
    return sorted(loads)


def load_of(exercise: Exercise, sequence: Sequence) -> float:
    """The load of an exercise's first part, for each measure."""
    return line_load(needs(exercise, sequence), sequence, exercise.measures)


def percentile(load: float, among: list[float]) -> int | None:
    """How many in a hundred of the lines ask less; equal ones count half. None among none.

    >>> percentile(2.0, [1.0, 2.0, 3.0, 4.0])
    38
    """
    if not among:
        return None
    below, upto = bisect_left(among, load), bisect_right(among, load)
    return round(100 * (below + upto) / 2 / len(among))
