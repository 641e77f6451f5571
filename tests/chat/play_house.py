"""The playful readings kept in memory: a curtain whose places a test decides."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from bot.activities.curtain import Spot
from bot.activities.way import Way
from bot.errors import Refused
from bot.service.card import Media
from bot.service.curtains import Fallen, NumberedFall, Span
from bot.service.play import Play


@dataclass
class MemoryCurtains:
    """`falls_at` is where it falls next, in pulses; None where a line has no room for it."""

    falls_at: float | None = 5.0
    whole: int = 16  # beats of the line
    fallen: list[tuple[float, bool]] = field(default_factory=list)
    kept: dict[int, int | None] = field(default_factory=dict)
    counted: tuple[NumberedFall, ...] = ()
    known: Span = field(default_factory=lambda: Span(now=2, counted=False, weeks=()))

    async def place(self, choir_id: str, reading_id: str) -> float:
        if self.falls_at is None:
            raise Refused("curtain.short")
        return self.falls_at

    async def fell(self, choir_id: str, reading_id: str, pulses: float, *, by_hand: bool) -> Fallen:
        self.fallen.append((pulses, by_hand))
        return Fallen(number=len(self.fallen), left=int(self.whole - pulses))

    async def held(self, choir_id: str, number: int, beats: int | None) -> None:
        if beats is not None and not 0 <= beats <= self.whole:
            raise Refused("curtain.beats", left=self.whole)
        self.kept[number] = beats

    async def recent(self, choir_id: str) -> tuple[NumberedFall, ...]:
        return self.counted

    async def span(self, choir_id: str) -> Span:
        return self.known


class MemoryClips:
    """A film of a few bytes; none of part 3 on."""

    async def clip(self, reading_id: str, part: int) -> bytes:
        if part > 2:
            raise Refused("reading.no_part", part=part + 1)
        return b"film of " + reading_id.encode()

    async def beats_after(self, reading_id: str) -> tuple[tuple[Spot, ...], ...]:
        spots = tuple(Spot(measure=7 + n // 4, beat=Fraction(n % 4 + 1)) for n in range(8))
        return (spots, spots, spots)


class MemoryTurned:
    """A picture for every way."""

    async def get(self, reading_id: str, part: int, way: Way, media: Media) -> bytes:
        if way is Way.PLAIN:
            raise Refused("way.no_page")
        return b"<svg xmlns='http://www.w3.org/2000/svg'/>"


class NoMysteries:
    """No tune was put before anybody: their pages are tested over the real service."""

    async def tunes(self, sequence: str = "steps-first") -> tuple[()]:
        return ()

    async def any_before(self, choir_id: str) -> bool:
        return False

    async def latest(self, choir_id: str) -> None:
        return None


def no_play() -> Play:
    """Nothing fell yet."""
    return Play(
        curtains=MemoryCurtains(),
        clips=MemoryClips(),
        mysteries=NoMysteries(),
        turned=MemoryTurned(),
        tunes_at_home=None,
    )
