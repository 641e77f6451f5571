"""One line for several voices: the key in which all can sing it, and each voice's own key.

Together means one sounding key for the room, the voices octaves apart. Apart means the same line in
the key that suits one voice best, for singing at home.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import product
from random import Random

from bot.errors import NoExercise
from bot.music.composer import Composer
from bot.music.exercise import Exercise, Tone
from bot.music.level import Level
from bot.music.pitch import Key
from bot.music.placement import Placement, missing_tones, sung_by_all, tones_within
from bot.music.voice import VoiceRange

__all__ = ["Placement", "apart", "best_octaves", "placements", "refusal_of", "together"]

_OCTAVES = range(1, 7)
_SIGNATURES = range(-4, 4)  # four flats to three sharps
_UNCHANGED = 57  # A3: a voice that goes no lower is an unchanged one where keys are chosen
# Places in the order of preference that are given up for a tone more, and for lying all within the
# tessitura instead of all outside.
_A_TONE_LOST = 3.0
_ALL_OUTSIDE = 6.0


def together(level: Level, ranges: Sequence[VoiceRange], key: Key | None) -> Placement:
    """The best key in which one line of the level can be sung by all voices, octaves apart.

    With a key given only that one is tried. Raises NoExercise("refusal.range") naming the voice by
    its limits, the tone and the key; without one "refusal.in_no_key", by the key nearest to it.
    """
    return next(iter(_in_order(level, ranges, () if key is None else (key,))))


def placements(
    level: Level, ranges: Sequence[VoiceRange], keys: Sequence[Key] = ()
) -> tuple[Placement, ...]:
    """Every key (of those given, else of the level's) in which all voices can sing, best first.

    Raises NoExercise like `together` where there is none.
    """
    return tuple(_in_order(level, ranges, keys))


def _in_order(
    level: Level, ranges: Sequence[VoiceRange], keys: Sequence[Key]
) -> Iterator[Placement]:
    """Placements from the best on, each proved by a line."""
    costs: list[tuple[float, Placement]] = []
    refusals: list[tuple[int, NoExercise]] = []
    for rank, key in enumerate(keys or preferred_keys(level, ranges)):
        placement = best_octaves(level, ranges, key)
        try:
            tones = tones_within(level, placement, ranges)
        except NoExercise as refusal:
            refusals.append((_lost(level, placement, ranges), refusal))
            continue
        lost = (len(level.tones) - len(tones)) * _A_TONE_LOST
        outside = outside_share(tones, placement, ranges) * _ALL_OUTSIDE
        costs.append((rank + lost + outside, placement))
    proved: dict[tuple[Tone, ...], NoExercise | None] = {}
    for cost, placement in sorted(costs, key=lambda each: each[0]):
        tones = tones_within(level, placement, ranges)
        if tones not in proved:
            proved[tones] = refusal_of(level, tones)
        if refused := proved[tones]:
            refusals.append((round(cost), refused))
        else:
            yield placement
    if refusals and all(proved.values()):
        nearest = min(refusals, key=lambda each: each[0])[1]
        raise nearest if keys else _in_no_key(nearest)


def _in_no_key(nearest: NoExercise) -> NoExercise:
    """A refusal of the key that comes nearest, said of all keys where none was asked for."""
    if nearest.key not in ("refusal.range", "refusal.leads_on"):
        return nearest
    values = nearest.values
    tone = values.get("to", values["tone"])
    return NoExercise("refusal.in_no_key", tone=tone, low=values["low"], high=values["high"])


def refusal_of(level: Level, tones: tuple[Tone, ...]) -> NoExercise | None:
    """Why no line can be composed of these tones; None where one was composed."""
    try:
        Composer(level, tones).draw(Random(0))  # noqa: S311 -- any line will do
    except NoExercise as refusal:
        return refusal
    return None


def apart(exercise: Exercise, limits: VoiceRange, keys: Iterable[Key] = ()) -> Exercise:
    """The same line in the key that suits one voice best.

    `keys` in order of preference; without them, plain keys first. Raises NoExercise("refusal.span")
    where the line is too wide for the voice in every key.
    """
    tones = exercise.parts[0].tones()
    order = [*keys] or sorted(
        (Key(fifths=fifths, mode=exercise.key.mode) for fifths in _SIGNATURES),
        key=lambda key: abs(key.fifths),
    )
    if exercise.key not in order:
        order.append(exercise.key)
    best: tuple[float, Key, int] | None = None
    for rank, key in enumerate(order):
        for octave in _OCTAVES:
            pitches = [key.pitch(tone.step, tone.alter, octave) for tone in tones]
            if not all(limits.holds(pitch) for pitch in pitches):
                continue
            outside = sum(
                not limits.tessitura_low <= pitch <= limits.tessitura_high for pitch in pitches
            )
            cost = rank + 4 * _ALL_OUTSIDE * outside / len(pitches)
            if best is None or cost < best[0]:
                best = (cost, key, octave)
    if best is None:
        raise NoExercise("refusal.span", low=str(limits.low), high=str(limits.high))
    return exercise.in_key(best[1], (best[2],))


def preferred_keys(level: Level, ranges: Sequence[VoiceRange]) -> tuple[Key, ...]:
    """The level's keys in order of preference for these voices."""
    unchanged = [limits.low.midi >= _UNCHANGED for limits in ranges]
    if all(unchanged):
        return level.keys.treble
    return level.keys.mixed if any(unchanged) else level.keys.low


def best_octaves(level: Level, ranges: Sequence[VoiceRange], key: Key) -> Placement:
    """The octaves of do in which the voices lose fewest of the tones that they have to share."""
    choices = [
        [octave for octave in _OCTAVES if limits.holds(key.pitch(0, 0, octave))] or [4]
        for limits in ranges
    ]
    placed = [Placement(key=key, do_octaves=octaves) for octaves in product(*choices)]

    def cost(placement: Placement) -> tuple[int, int, float]:
        tones = sung_by_all(level, placement, ranges)
        outside = outside_share(tones, placement, ranges)
        return len(missing_tones(level, tones)), -len(tones), outside

    return min(placed, key=cost)


def _lost(level: Level, placement: Placement, ranges: Sequence[VoiceRange]) -> int:
    return len(level.tones) - len(sung_by_all(level, placement, ranges))


def outside_share(
    tones: Sequence[Tone], placement: Placement, ranges: Sequence[VoiceRange]
) -> float:
    """Which part of the tones, 0 to 1, lies outside the tessitura, over all voices."""
    pitches = [
        limits.tessitura_low
        <= placement.key.pitch(t.step, t.alter, octave)
        <= limits.tessitura_high
        for limits, octave in zip(ranges, placement.do_octaves, strict=True)
        for t in tones
    ]
    return 1.0 - sum(pitches) / max(len(pitches), 1)
