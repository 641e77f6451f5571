"""Lines for individual hearings: as many as there are seats, all different and equally hard."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from bot.errors import NoExercise
from bot.music.composer import Composer
from bot.music.exercise import Exercise
from bot.music.level import Level
from bot.music.load import load_of
from bot.music.placement import Placement, tones_within
from bot.music.reason import Asked
from bot.music.rhythm import Metre
from bot.music.sequence import Sequence as Steps
from bot.music.voice import VoiceRange

MEASURES = 4
MOST = 60  # lines of one sheet
_SPARE = 6  # lines composed for each that is chosen
_FEW = 24  # and so many more


@dataclass(frozen=True, slots=True, kw_only=True)
class EqualLines:
    """Lines of one key and metre; `loads` says what each asks of its reader (`load.load_of`)."""

    lines: tuple[Exercise, ...]
    loads: tuple[float, ...]

    @property
    def spread(self) -> float:
        """How far the hardest lies above the easiest, as a part of the middle one."""
        middle = sorted(self.loads)[len(self.loads) // 2]
        return (max(self.loads) - min(self.loads)) / middle


def equal_lines(
    sequence: Steps,
    level: Level,
    placement: Placement,
    ranges: Sequence[VoiceRange],
    *,
    count: int,
    metre: Metre | None = None,
    seed: int,
) -> EqualLines:
    """So many different lines of four measures whose loads lie as close together as can be.

    More lines than wanted are composed, and those are taken that lie next to one another when they
    are put in order; then they are shuffled. The same wishes give the same lines. Raises NoExercise
    where the level has no line of four measures or fewer lines than wanted.
    """
    random = Random(seed)  # noqa: S311 -- the same seed has to give the same lines
    tones = tones_within(level, placement, ranges)
    composer = Composer(level, tones)
    found: list[Exercise] = []

    def composes(at: Level, metre: Metre | None, _measures: int | None) -> object:
        return Composer(at, tones).draw(random, metre=metre, measures=MEASURES)

    for _ in range(_SPARE * count + _FEW):
        try:
            line = composer.choose(random, metre=metre, measures=MEASURES, seen=found)
        except NoExercise as refusal:
            if len(found) < count:
                asked = Asked(composes=composes, level=level, metre=metre, measures=None)
                raise asked.reason(refusal) from refusal
            if refusal.key == "refusal.all-read":
                break
            raise
        metre = line.metre
        found.append(line.exercise(placement.key, placement.do_octaves[0]))
    ranked = sorted(((load_of(line, sequence), n) for n, line in enumerate(found)))
    first = min(
        range(len(ranked) - count + 1),
        key=lambda begin: ranked[begin + count - 1][0] - ranked[begin][0],
    )
    chosen = ranked[first : first + count]
    random.shuffle(chosen)
    return EqualLines(
        lines=tuple(found[n] for _, n in chosen), loads=tuple(load for load, _ in chosen)
    )
