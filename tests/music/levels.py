"""The shipped sequence, its levels, and levels so small that every line can be written out."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

from bot.music.level import Level, PitchFocus, level_of
from bot.music.rhythm import Metre
from bot.music.sequence import Sequence
from bot.music.step_file import parse_sequence
from bot.music.step_table import StepRow, step_table
from bot.music.voice import DEFAULT_RANGES

FOLDER = Path(__file__).parents[2] / "content" / "sequences"
FILE = FOLDER / "steps-first.toml"
TWO_FOUR, FOUR_FOUR = Metre(beats=2, unit=4), Metre()


@cache
def steps_first() -> Sequence:
    """The sequence that every choir begins with."""
    return shipped("steps-first")


@cache
def shipped(name: str) -> Sequence:
    """A sequence that is shipped."""
    file = FOLDER / f"{name}.toml"
    return parse_sequence(file.read_text(encoding="utf-8"), file.name)


@cache
def level(*ids: str) -> Level:
    """A level of the shipped sequence."""
    return level_of(steps_first(), ids)


@cache
def shipped_table() -> tuple[StepRow, ...]:
    """What composes at every shipped step, for every voice and mix of voices, in every key."""
    return step_table(steps_first(), DEFAULT_RANGES)


def cut(full: Level, *cells: str, measures: int = 4, equal_notes: int = 3) -> Level:
    """A level with these cells only, in 2/4, of one length."""
    return replace(
        full,
        cells=tuple(cell for cell in full.cells if cell.text in cells),
        metres=((TWO_FOUR, 1),),
        conditions=replace(full.conditions, measures=((measures, 1),)),
        rules=replace(full.rules, equal_notes=equal_notes),
    )


def tiny(name: str) -> Level:
    """One of the small levels on which the sums are proved.

    `steps`: do re mi by step. `skip`: the skip do-mi and rests. `two phrases`: eight measures with
    mi at least four times, of which the first two may come back. `both new`: fa and paired eighths,
    neither on a beat of the other. `held`: do re mi by step with ties over the bar line.
    """
    match name:
        case "steps":
            return cut(level("p01", "r01"), "q", "h")
        case "skip":
            return replace(cut(level("p02", "r03"), "q", "h", "rq"), rhythm_focus=None)
        case "two phrases":
            full = cut(level("p04", "r01"), "q", "h", measures=8, equal_notes=1)
            focus = PitchFocus(step="p04", count=4, tones=frozenset(full.tones[2:3]))
            return replace(full, tones=full.tones[:3], skips=frozenset(), pitch_focus=focus)
        case "both new":
            full = cut(level("p05", "r04"), "q", "h", "e e", equal_notes=1)
            cells = (*full.cells[:2], replace(full.cells[2], in_a_row=1))
            focus = PitchFocus(step="p05", count=2, tones=frozenset(full.tones[3:4]))
            small = replace(full, cells=cells, tones=full.tones[:4], skips=frozenset())
            return replace(small, pitch_focus=focus)
        case "held":
            return replace(cut(level("p01", "r21"), "q", "h", equal_notes=2), pickup=None)
    raise ValueError(name)


TINY = ("steps", "skip", "two phrases", "both new")
