"""The broad level: every tone from low so to high do, every cell, no rule that only teaches."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from random import Random

from bot.music.composer import Composer
from bot.music.level import Level, level_of
from bot.music.line_draw import Line
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.step_file import parse_sequence
from tests.fit.melody import Melody, melody_of

FILE = Path(__file__).parents[2] / "content" / "sequences" / "steps-first.toml"
# How many of 151 training windows have each kind of cell, beside plain ones; a choir's lines have
# the rare ones oftener, because they are there to be learnt. Kinds that no window has are left out.
_USUAL = {"r03": 43, "r07": 39, "r09": 37, "r10": 5, "r13": 1, "r14": 3, "r15": 4, "r16": 6}
_KEY = Key.parse("C")


def teaching_level(*ids: str) -> Level:
    """A level of the shipped sequence."""
    return level_of(parse_sequence(FILE.read_text(encoding="utf-8"), FILE.name), ids)


def broad_level() -> Level:
    """The level on which lines are compared with folk song."""
    full = teaching_level("p15", "r16")
    conditions = replace(
        full.conditions,
        start=tuple(tone for tone in full.tones if tone.step % 7 in (0, 1, 2, 4)),
        half_cadence=full.tones,
        cadence=tuple(tone for tone in full.tones if tone.step <= 4),
    )
    return replace(
        full,
        pitch_focus=None,
        rhythm_focus=None,
        conditions=conditions,
        cells=tuple(
            replace(cell, weight=1.0 if cell.plain else _USUAL[cell.step] / 40)
            for cell in full.cells
            if cell.plain or cell.step in _USUAL
        ),
        held=(),
        pickup=None,  # the tunes to compare with have none
        rules=replace(
            full.rules, equal_notes=5, free_leaps=True, free_measures=True, from_sixteenths=None
        ),
    )


class Maker:
    """Draws melodies of one level, metre and length, with and without the critic."""

    def __init__(self, level: Level, metre: Metre, measures: int = 8) -> None:
        self._composer = Composer(level, level.tones)
        self._metre, self._measures = metre, measures

    def bare(self, count: int, seed: int) -> list[Melody]:
        """Lines as the weights have them."""
        return [
            self._melody(
                self._composer.draw(Random(seed + each), metre=self._metre, measures=self._measures)
            )
            for each in range(count)
        ]

    def candidates(self, count: int, seed: int) -> Iterator[list[Melody]]:
        """For each line, those among which the critic would choose."""
        for each in range(count):
            lines = self._composer.candidates(
                Random(seed + each), metre=self._metre, measures=self._measures
            )
            yield [self._melody(line) for line in lines]

    def chosen(self, count: int, seed: int) -> list[Melody]:
        """Lines as a choir gets them."""
        return [
            self._melody(
                self._composer.choose(
                    Random(seed + each), metre=self._metre, measures=self._measures
                )
            )
            for each in range(count)
        ]

    def _melody(self, line: Line) -> Melody:
        return melody_of(line.exercise(_KEY, 4))
