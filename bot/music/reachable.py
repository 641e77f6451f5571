"""Which tones a line can come to and leave again, among those that its voices have."""

from __future__ import annotations

from collections.abc import Callable, Collection

from bot.music.exercise import Tone
from bot.music.leading import by_step
from bot.music.level import Level


def follows(level: Level, here: Tone, tone: Tone) -> bool:
    """Whether a line of a level may go from one tone to another one."""
    return by_step(here, tone) or (min(tone, here), max(tone, here)) in level.skips


def connected(level: Level, sung: Collection[Tone], home: Tone) -> tuple[Tone, ...]:
    """The tones of those sung that lines can come to from `home` and that lead back to it.

    A raised tone leads nowhere where the voices lack the tone above it, a lowered one where they
    lack the one below.
    """
    there = _reached(sung, home, lambda here, tone: follows(level, here, tone))
    back = _reached(sung, home, lambda here, tone: follows(level, tone, here))
    return tuple(sorted(there & back))


def leads_to(level: Level, tone: Tone) -> tuple[Tone, ...]:
    """The tones of a level that may follow a tone."""
    return tuple(other for other in level.tones if other != tone and follows(level, tone, other))


def _reached(
    sung: Collection[Tone], home: Tone, goes: Callable[[Tone, Tone], bool]
) -> frozenset[Tone]:
    found, waiting = {home}, [home]
    while waiting:
        here = waiting.pop()
        for tone in sung:
            if tone not in found and goes(here, tone):
                found.add(tone)
                waiting.append(tone)
    return frozenset(found)
