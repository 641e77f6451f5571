"""Two and three parts for young part-singers: every part its own line, all composed together.

The order in which part-singing begins is that of the choral literature (trade journals agree on
echo, ostinato and canon first, then thirds and sixths): see the voice steps of a sequence. Each
part is held to the step in its own range; where that does not let it, it reads a lower pitch step.
Between them the parts have the newest tone or skip as often as one line would.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from functools import partial
from random import Random
from types import MappingProxyType
from typing import NamedTuple

from bot.errors import NoExercise
from bot.music.canon import Canons, CanonsOf, canon
from bot.music.companion import RoomPlan
from bot.music.echo import echo
from bot.music.ensemble import Lay, Room, RoomOf
from bot.music.exercise import Exercise
from bot.music.in_turn import in_turn
from bot.music.level import Level
from bot.music.part_plans import ON_TWO_TONES, part_plans
from bot.music.pitch import Key
from bot.music.placement import wrong_mode
from bot.music.reason import Asked
from bot.music.rhythm import Metre
from bot.music.room_lines import RoomReading, room_lines
from bot.music.sequence import Sequence as Steps
from bot.music.texture import Texture, parts_needed, texture_of
from bot.music.textures import figure_begins, ostinato, pedal, thirds, unlike
from bot.music.voice import Voice, VoiceRange
from bot.music.voice_leading import Manner

_CHAIN = 4  # parallel thirds or sixths in a row
_PLANS = 12  # that are tried
_WITH_NEWEST = 1  # plans over do and so that are tried with the newest tone
_RHYTHMS = 4  # over which an ostinato is tried with the newest tone, each with all its figures

_HIGH, _MIDDLE, _LOW = (
    VoiceRange.parse("A3-A4", "B3-G4"),
    VoiceRange.parse("G3-F4", "A3-E4"),
    VoiceRange.parse("Bb2-C4", "C3-Bb3"),
)
_I, _II, _III = (
    VoiceRange.parse("C4-E5", "D4-C5"),
    VoiceRange.parse("Bb3-C5", "C4-A4"),
    VoiceRange.parse("A3-A4", "B3-F4"),
)
# Parts by the voice at the top, after practitioners' lists of middle-school ranges: three treble
# parts, and a tenor-bass choir's high, middle and low voices.
PART_RANGES: Mapping[tuple[Voice, int], tuple[VoiceRange, ...]] = MappingProxyType(
    {
        (Voice.TREBLE, 2): (_I, _II),
        (Voice.TREBLE, 3): (_I, _II, _III),
        (Voice.CHANGING, 2): (_MIDDLE, _LOW),
        (Voice.CHANGING, 3): (_HIGH, _MIDDLE, _LOW),
    }
)

# How the parts of each texture are laid out, and how strictly they keep together.
LAYS: Mapping[Texture, tuple[Lay, Manner]] = MappingProxyType(
    {
        Texture.OSTINATO: (ostinato, Manner()),
        Texture.PEDAL: (pedal, Manner(drone=True)),
        Texture.THIRDS: (thirds, Manner(chain=_CHAIN)),
        Texture.UNLIKE: (unlike, Manner(chain=_CHAIN)),
        Texture.THREE: (thirds, Manner(full=True)),
    }
)


def part_lines(
    sequence: Steps,
    level: Level,
    ranges: Sequence[VoiceRange],
    key: Key | None = None,
    *,
    measures: int | None = None,
    metre: Metre | None = None,
    seed: int,
    seen: Collection[Exercise] = (),
    rooms: RoomOf = Room,
    canons: CanonsOf = Canons,
) -> RoomReading:
    """Parts in the texture of the level for two or three voices, the highest first.

    Where there are more voices than parts, some of them share a part, octaves apart; an echo or a
    canon comes at the highest step down from the level that lies in reach of all (see `in_turn`).
    `rooms` and `canons` make the tables of a plan. Raises NoExercise: "refusal.major" or
    "refusal.minor", "refusal.few_voices", "refusal.parts" where no key lets all parts be sung, and
    what `compose` raises for metre, length and lines all read.
    """
    if wrong := wrong_mode(level, key):
        raise wrong
    if len(ranges) < (parts := parts_needed(texture_of(level))):
        raise NoExercise("refusal.few_voices", step=level.steps[2], parts=parts)

    def composes(
        at: Level, metre: Metre | None, measures: int | None, seen: Collection[Exercise] = ()
    ) -> RoomReading:
        random = Random(seed)  # noqa: S311 -- the same seed has to give the same parts
        wish = _Wish(metre, measures, random, seen)
        if texture_of(level) in (Texture.ECHO, Texture.CANON):
            found = _copied(sequence, at, ranges, key, wish, canons)
        else:
            found = _apart(sequence, at, ranges, key, wish, rooms)
        if found is None:
            raise _refusal(at, ranges, key)
        return found

    try:
        return composes(level, metre, measures, seen)
    except NoExercise as refusal:
        asked = Asked(composes=composes, level=level, metre=metre, measures=measures)
        raise asked.reason(refusal) from refusal


class _Wish(NamedTuple):
    """What is asked of parts beyond their level and who sings them."""

    metre: Metre | None
    measures: int | None
    random: Random
    seen: Collection[Exercise]


def _copied(
    sequence: Steps,
    level: Level,
    ranges: Sequence[VoiceRange],
    key: Key | None,
    wish: _Wish,
    canons: CanonsOf,
) -> RoomReading | None:
    """One line sung in turn; None where there is none."""
    way = echo if texture_of(level) is Texture.ECHO else partial(canon, canons=canons)
    found = in_turn(sequence, level, lambda at: way(at, ranges, key, **wish._asdict()))
    return found and RoomReading(exercise=found[0], plan=found[1])


def _apart(
    sequence: Steps,
    level: Level,
    ranges: Sequence[VoiceRange],
    key: Key | None,
    wish: _Wish,
    rooms: RoomOf,
) -> RoomReading | None:
    """Parts that each have a line of their own; None where no plan has any."""
    texture = texture_of(level)
    lay, manner = LAYS[texture]
    plans = part_plans(sequence, level, ranges, key)[:_PLANS]
    if texture in ON_TWO_TONES and level.pitch_focus:
        plans = [*plans[:_WITH_NEWEST], *map(_of_known_tones, plans)]
    for plan in plans:
        room, patience = rooms(plan, manner, lay), None
        if texture is Texture.OSTINATO and plan.lines[0].level.pitch_focus:
            if not room.newest_has_place(_begins(plan)):
                continue
            patience = _RHYTHMS
        exercise = room.draw(
            wish.random,
            metre=wish.metre,
            measures=wish.measures,
            seen=wish.seen,
            patience=patience,
        )
        if exercise is not None:
            return RoomReading(exercise=exercise, plan=plan)
    return None


def _of_known_tones(plan: RoomPlan) -> RoomPlan:
    """A plan that does not ask for the newest tone: over do and so it may find no place."""
    lines = tuple(replace(line, level=replace(line.level, pitch_focus=None)) for line in plan.lines)
    return replace(plan, lines=lines)


def _begins(plan: RoomPlan) -> dict[int, tuple[int, ...]]:
    """The tones on which an ostinato begins, as places among those of its line."""
    return {len(plan.lines) - 1: figure_begins(plan.lines[-1])}


def _refusal(level: Level, ranges: Sequence[VoiceRange], key: Key | None) -> NoExercise:
    spans = ", ".join(f"{limits.low}-{limits.high}" for limits in ranges)
    step = f"{level.steps[0]}, {level.steps[2]}"
    if key is None:
        return NoExercise("refusal.parts", step=step, ranges=spans)
    return NoExercise("refusal.parts_in_key", step=step, ranges=spans, in_key=str(key))


def lines_together(
    sequence: Steps,
    level: Level,
    ranges: Sequence[VoiceRange],
    key: Key | None = None,
    *,
    measures: int | None = None,
    seed: int,
    seen: Collection[Exercise] = (),
    rooms: RoomOf = Room,
    canons: CanonsOf = Canons,
) -> RoomReading:
    """What voices read together at a level: parts, or one line for the room with its companions."""
    if texture_of(level) is Texture.UNISON:
        return room_lines(
            sequence, level, ranges, key, measures=measures, seed=seed, seen=seen, rooms=rooms
        )
    return part_lines(
        sequence,
        level,
        ranges,
        key,
        measures=measures,
        seed=seed,
        seen=seen,
        rooms=rooms,
        canons=canons,
    )
