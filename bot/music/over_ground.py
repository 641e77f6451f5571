"""Lines over a shared ground: on strong beats and long notes they have a tone of its chords."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial

from bot.music.cell import Cell
from bot.music.composer import Composer
from bot.music.exercise import Tone
from bot.music.frames import Frame, Ground
from bot.music.habits import RATHER
from bot.music.level import Level
from bot.music.note_counts import NoteCounts
from bot.music.patterns import Pattern
from bot.music.rhythm import Metre
from bot.music.shared_ground import SharedGround
from bot.music.word_ground import Chords


class OverGround(Ground):
    """Measures whose strong and long notes have a tone of the chord below them."""

    def __init__(
        self,
        chords: Chords,
        level: Level,
        metre: Metre,
        measures: int,
        counts: NoteCounts,
        pickup: Cell | None,
    ) -> None:
        super().__init__(level, metre, measures, counts, pickup)
        self._chords = chords

    def dressed(self, measures: Sequence[Pattern]) -> tuple[Pattern, ...]:
        """The measures of a line with the degrees that strong and long notes may have."""
        return tuple(
            replace(
                measure,
                struck=tuple(
                    each._replace(degrees=self._chords.get((number, each.offset), 0))
                    if each.strength >= 2 or each.length == 2
                    else each
                    for each in measure.struck
                ),
            )
            for number, measure in enumerate(super().dressed(measures))
        )


class GroundComposer(Composer):
    """Draws lines over one ground, none with a pickup: what sounds together begins together.

    `strict`: a tone of the chord in every such place, else rather so than not.
    """

    def __init__(
        self, level: Level, tones: tuple[Tone, ...], ground: SharedGround, *, strict: bool
    ) -> None:
        chords = ground.degrees(0 if strict else RATHER)
        super().__init__(level, tones, ground=partial(OverGround, chords))

    def frames(
        self, metre: Metre | None, measures: int | None, *, pickups: bool = True
    ) -> tuple[Frame, ...]:
        """The frames of a metre and length without a pickup, whatever is asked."""
        del pickups
        return super().frames(metre, measures, pickups=False)
