"""Words: reading them, setting them, setting one line against others, stacking partners."""

from __future__ import annotations

import time
from collections.abc import Callable
from statistics import median

from bot.music.partners import best_partners
from bot.music.rhythm import Metre
from bot.music.set_to_words import SungWords, set_to_words
from bot.music.shared_ground import shared_ground
from bot.music.voice import DEFAULT_RANGES, Voice
from bot.notation.pronouncing import sung_words
from tests.music.levels import level, steps_first
from tests.notation.test_scansion import counted, reversed_pairs

_TREBLE = DEFAULT_RANGES[Voice.TREBLE]
_TEXTS = (
    "Lanterns on the river / floating far away",
    "Down the winding staircase, quiet as the snow",
    "Softly, softly, shut the door / nobody must hear us",
    "Climb the ladder, one by one / follow where it goes",
    "Open up the little gate / step across the stones",
    "Seven silver fishes sing / swimming in the bay",
)
_LONG = (
    "Over hill and over valley / over river deep and wide / go we singing, go we laughing"
    " / with the moon along our side"
)
_UNBROKEN = (
    "Over hill and over valley over river deep and wide go we singing, go we laughing with the moon"
    " along our side, and the lanterns on the water tell the little fishes where to run"
    " and where to hide"
)  # some fifty syllables, and nothing says where the second half begins


def run() -> dict[str, float]:
    """Medians in seconds a line; shares where [1] stands."""
    sung_words(_LONG)  # dictionaries are read once
    figures = {"read a text": _median([lambda: sung_words(_LONG)] * 5)}
    for ids in ("p03 r02", "p05 r04", "p09 r09", "p15 r16"):
        figures[f"set a line, {ids}"] = _median(
            [lambda text=text, ids=ids: _set(text, ids) for text in _TEXTS]
        )
    figures["set four lines of text, p09 r04"] = _median([lambda: _set(_LONG, "p09 r04")] * 3)
    fifty = _median([lambda: _set(_UNBROKEN, "p14 r16")] * 3)
    figures["set fifty syllables of unbroken text, p14 r16"] = fifty
    ground = shared_ground(level("p09", "r04").tones, Metre(), 4, seed=1)
    first = _set(_TEXTS[0], "p09 r04", ground=ground, first="do").exercise
    figures["set a line against one, p09 r04"] = _median(
        [
            lambda text=text: _set(text, "p09 r04", ground=ground, against=[first])
            for text in _TEXTS[1:]
        ]
    )
    lines = [first] + [
        _set(text, "p09 r04", ground=ground, against=[first]).exercise for text in _TEXTS[1:]
    ]
    for parts in (2, 3):
        figures[f"best stacks of {parts} among 6 lines"] = _median(
            [lambda parts=parts: best_partners(lines, (_TREBLE,) * parts)] * 3
        )
    figures["lines of hymns and songs with as many syllables as scanned by hand [1]"] = counted()
    figures["stressed neighbours that the hand scanned the other way [1]"] = reversed_pairs()
    return figures


def _set(text: str, ids: str, **wish: object) -> SungWords:
    words = sung_words(text).words
    full = level(*ids.split())
    return set_to_words(steps_first(), full, (_TREBLE,), words, seed=1, **wish)  # type: ignore[arg-type]


def _median(works: list[Callable[[], object]]) -> float:
    times = []
    for work in works:
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return median(times)
