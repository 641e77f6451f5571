"""Composing: tables of a level, a line, a choice, a line after a long history, all steps.

Times are those of the processor, since others may be at work on the machine.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from random import Random
from statistics import median

from bot.music.catalogue import Catalogue
from bot.music.checker import check
from bot.music.composer import Composer, compose
from bot.music.drawing import Unread
from bot.music.exercise import Exercise
from bot.music.frames import Frame
from bot.music.needs import needs
from bot.music.pitch import Key
from bot.music.placement import Placement
from bot.music.rhythms import Taken
from bot.music.step_table import step_table
from bot.music.voice import DEFAULT_RANGES, VoiceRange
from tests.music.levels import FOUR_FOUR, level, steps_first

_DRAWS, _CHOICES = 200, 40
_HISTORY = 5_000
_F4 = Placement(key=Key.parse("F"), do_octaves=(4,))
_WIDE = VoiceRange.parse("C3-C6", "C4-C5")
_LEVELS = ("p05 r04", "p09 r09", "p12 r09", "p15 r16")


def run() -> dict[str, float]:
    """Medians in seconds on eight measures of 4/4 where nothing else is said."""
    figures: dict[str, float] = {}
    for ids in _LEVELS:
        figures |= _level(ids)
    full = level("p05", "r04")
    composer = Composer(full, full.tones)
    drawn = [_exercise(composer, seed) for seed in range(_HISTORY)]
    figures[f"compose with {_HISTORY} lines of the level seen"] = _median(
        lambda: compose(full, _F4, (_WIDE,), seed=-1, seen=drawn), 5
    )
    lines = iter(drawn)
    figures["check a line"] = _median(lambda: check(next(lines), full, None), _DRAWS)
    lines = iter(drawn)
    figures["needs of a line"] = _median(lambda: needs(next(lines), steps_first()), _DRAWS)
    figures["count all lines of p05 r04"] = _median(
        lambda: Catalogue(Composer(full, full.tones), FOUR_FOUR, 8).size, 1
    )
    figures["table of all steps, voices and keys"] = _median(
        lambda: step_table(steps_first(), DEFAULT_RANGES), 1
    )
    return figures


def _level(ids: str) -> dict[str, float]:
    full = level(*ids.split())
    first = _median(lambda: _exercise(Composer(full, full.tones), 1), 5)
    composer = Composer(full, full.tones)
    frames = [f for f in composer.frames(FOUR_FOUR, 8) if f.rhythms.total]
    free = next(frame for frame in frames if not frame.form.copied)
    copied = next(frame for frame in frames if frame.form.copied)
    seeds = iter(range(10**6))
    new = Composer(full, full.tones)  # which meets frames that it has not summed, as a choir does

    def draw(frame: Frame) -> tuple[int, ...]:
        random = Random(next(seeds))
        path = frame.rhythms.draw(random, Taken())
        return Unread(composer.lines(frame, path)).draw(random)

    return {
        f"{ids}: tables and one line": first,
        f"{ids}: a line, tables ready": _median(lambda: draw(free), _DRAWS),
        f"{ids}: a line whose first measures come back": _median(lambda: draw(copied), _DRAWS),
        f"{ids}: a line chosen by the critic": _median(
            lambda: new.choose(Random(next(seeds)), metre=FOUR_FOUR, measures=8), _CHOICES
        ),
    }


def _exercise(composer: Composer, seed: int) -> Exercise:
    return composer.draw(Random(seed), metre=FOUR_FOUR, measures=8).exercise(_F4.key, 4)


def _median(work: Callable[[], object], times: int) -> float:
    took = []
    for _ in range(times):
        start = time.process_time()
        work()
        took.append(time.process_time() - start)
    return median(took)
