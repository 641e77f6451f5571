"""A line's rhythm with all that the tones have to know of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from bot.music.habits import AFTER_QUICK, ON_QUICK, Place
from bot.music.patterns import PHRASE, Pattern


class Spot(NamedTuple):
    """A note's measure, ticks from its bar line (negative in a pickup), length in ticks."""

    measure: int
    offset: int
    ticks: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Skeleton:
    """The notes of a rhythm in order, rests left out.

    `places` for the weights; `new` marks notes of the newest rhythm, onto which no newest move
    goes. `phrase_ends` counts the notes up to the end of each phrase, `copied` those at the start
    of the second phrase that repeat the first, 0 for none. `spots` are the times of the notes.
    """

    places: tuple[Place, ...]
    new: tuple[bool, ...]
    phrase_ends: tuple[int, ...]
    copied: int = 0
    spots: tuple[Spot, ...] = ()

    @property
    def notes(self) -> int:
        """Number of notes."""
        return len(self.places)


def skeleton_of(
    measures: Sequence[Pattern],
    *,
    new_cells: frozenset[str] = frozenset(),
    copied_measures: int = 0,
    lie: int = 0,
) -> Skeleton:
    """Lay measures end to end. No new move goes onto notes of `new_cells` (texts of cells).

    `lie` says whether the line lies low (-1) or high (1) among its tones.
    """
    places: list[Place] = []
    new: list[bool] = []
    ends: list[int] = []
    spots: list[Spot] = []
    quick: list[bool] = []
    for number, measure in enumerate(measures):
        phrase = 0 if len(measures) == PHRASE else 1 + number // PHRASE
        rests = [each.rest for each in measure.struck]
        for each, halts in zip(measure.struck, [*rests[1:], False], strict=True):
            if not each.rest:
                place = Place(each.strength, each.length, phrase, number % PHRASE, lie=lie)
                places.append(place._replace(degrees=each.degrees, halts=halts))
                spots.append(Spot(number, each.offset, each.ticks))
        new += measure.fresh(new_cells)
        quick += measure.quick
        if number % PHRASE == PHRASE - 1:
            ends.append(len(places))
            places[-1] = places[-1]._replace(ends=True)
    copied = sum(measure.notes for measure in measures[:copied_measures])
    return Skeleton(
        places=tuple(_marked(places, quick, ends)),
        new=tuple(new),
        phrase_ends=tuple(ends),
        copied=copied,
        spots=tuple(spots),
    )


def _marked(
    places: Sequence[Place], quick: Sequence[bool], phrase_ends: Sequence[int]
) -> Iterator[Place]:
    """The places with marks at notes that are quick, and at the next ones in their phrase."""
    for note, place in enumerate(places):
        after = note > 0 and note not in phrase_ends and quick[note - 1]
        yield place._replace(quick=after * AFTER_QUICK | quick[note] * ON_QUICK)
