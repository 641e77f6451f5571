"""Two and three parts for young part-singers: every part its own line, all composed together.

The order in which part-singing begins is that of the choral literature (trade journals agree on
echo, ostinato and canon first, then thirds and sixths): see the voice steps of a sequence. Each
part is held to the step in its own range; where that does not let it, it reads a lower pitch step.
Between them the parts have the newest tone or skip as often as one line would.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from itertools import islice, product
from random import Random
from types import MappingProxyType

from bot.errors import NoExercise
from bot.music.canon import Canons, CanonsOf, canon
from bot.music.companion import Footing, LinePlan, RoomPlan, companions, levels_down
from bot.music.echo import echo
from bot.music.ensemble import Lay, Room, RoomOf
from bot.music.exercise import Exercise
from bot.music.in_turn import in_turn
from bot.music.level import Level
from bot.music.pitch import Key
from bot.music.placement import Placement, wrong_mode
from bot.music.rhythm import Metre
from bot.music.room_lines import RoomReading, room_lines
from bot.music.sequence import Sequence as Steps
from bot.music.texture import Texture
from bot.music.textures import figure_begins, ostinato, pedal, thirds, unlike
from bot.music.variants import outside_share, preferred_keys
from bot.music.voice import Voice, VoiceRange
from bot.music.voice_leading import Manner

_TONIC, _THIRD = 0, 2  # degrees
_ON_TWO_TONES = (Texture.OSTINATO, Texture.PEDAL)  # what the lowest part sings in these
_HALVES = 16  # in eight measures
_CHAIN = 4  # parallel thirds or sixths in a row
_FEW, _PLANS = 4, 12  # lines of each part, and plans, that are tried
_WITH_NEWEST = 1  # plans over do and so that are tried with the newest tone
_RHYTHMS = 4  # over which an ostinato is tried with the newest tone, each with all its figures
_A_STEP_LOWER, _ALL_OUTSIDE, _A_TONE_LESS = 2.0, 6.0, 0.4

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


def texture_of(level: Level) -> Texture:
    """The way of singing together of a level; ValueError for a word that is none."""
    return Texture(level.texture)


def parts_needed(texture: Texture) -> int:
    """How many parts a texture has."""
    match texture:
        case Texture.UNISON:
            return 1
        case Texture.THREE:
            return 3
        case _:
            return 2


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
    texture = texture_of(level)
    if len(ranges) < parts_needed(texture):
        raise NoExercise("refusal.few_voices", step=level.steps[2], parts=parts_needed(texture))
    random = Random(seed)  # noqa: S311 -- the same seed has to give the same parts
    if texture in (Texture.ECHO, Texture.CANON):
        copied = echo if texture is Texture.ECHO else partial(canon, canons=canons)
        wish = partial(copied, key=key, metre=metre, measures=measures, random=random)
        found = in_turn(sequence, level, lambda at: wish(at, ranges, seen=seen))
        if found is not None:
            return RoomReading(exercise=found[0], plan=found[1])
        if level.rhythm_focus:  # what is left without the newest rhythm says what forbids it
            plain = replace(level, rhythm_focus=None)
            if in_turn(sequence, plain, lambda at: wish(at, ranges, seen=())):
                steps = ", ".join(level.steps[1:])
                raise NoExercise("refusal.parts_rhythm", step=steps)
        raise _refusal(level, ranges, key)
    lay, manner = LAYS[texture]
    plans = part_plans(sequence, level, ranges, key)[:_PLANS]
    if texture in _ON_TWO_TONES and level.pitch_focus:
        plans = [*plans[:_WITH_NEWEST], *map(_of_known_tones, plans)]
    for plan in plans:
        room, patience = rooms(plan, manner, lay), None
        if texture is Texture.OSTINATO and plan.lines[0].level.pitch_focus:
            if not room.newest_has_place(_begins(plan)):
                continue
            patience = _RHYTHMS
        exercise = room.draw(random, metre=metre, measures=measures, seen=seen, patience=patience)
        if exercise is not None:
            return RoomReading(exercise=exercise, plan=plan)
    raise _refusal(level, ranges, key)


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


def part_plans(
    sequence: Steps, level: Level, ranges: Sequence[VoiceRange], key: Key | None
) -> list[RoomPlan]:
    """Plans with a part for every voice, best first."""
    levels = tuple(levels_down(sequence, level))
    texture = texture_of(level)
    found: list[RoomPlan] = []
    for rank, each in enumerate([key] if key else preferred_keys(level, ranges)):
        for groups in groups_of(len(ranges), parts_needed(texture)):
            rows = [
                list(islice(_lines(levels, texture, place, groups, ranges, each), _FEW))
                for place in range(len(groups))
            ]
            for lines in product(*rows):
                if _closes(lines, each):
                    cost = rank + sum(_cost(line, levels, each, ranges) for line in lines)
                    found.append(RoomPlan(key=each, lines=lines, cost=cost, shared=True))
    return sorted(found, key=lambda plan: plan.cost)


def groups_of(voices: int, parts: int) -> tuple[tuple[tuple[int, ...], ...], ...]:
    """Who may sing which part, the highest first, every part sung.

    >>> groups_of(3, 2)
    (((0,), (1, 2)), ((0, 1), (2,)))
    """
    if parts == 1:
        return ((tuple(range(voices)),),)
    return tuple(
        (tuple(range(first)), *(tuple(voice + first for voice in each) for each in rest))
        for first in range(1, voices - parts + 2)
        for rest in groups_of(voices - first, parts - 1)
    )


def _closes(lines: Sequence[LinePlan], key: Key) -> bool:
    """Whether the last tones lie in order and sound full: with the third where there are three."""
    ends = [line.level.conditions.end for line in lines]
    heights = [
        key.pitch(end.step, end.alter, line.do_octaves[0]).midi
        for line, end in zip(lines, ends, strict=True)
    ]
    if heights != sorted(heights, reverse=True):
        return False
    return len(lines) < 3 or _THIRD in {lines[0].level.degree(end) for end in ends}


def _lines(
    levels: Sequence[Level],
    texture: Texture,
    place: int,
    groups: Sequence[tuple[int, ...]],
    ranges: Sequence[VoiceRange],
    key: Key,
) -> Iterator[LinePlan]:
    """Lines of one part. The lowest ends on the tonic; the top one there or on the third above."""
    last = len(groups) - 1
    for line in companions(levels[0], levels, groups[place], ranges, key):
        end = line.level.degree(line.level.conditions.end)
        two_tones = line.footing is Footing.TWO_TONES
        if two_tones is not (texture in _ON_TWO_TONES and place == last):
            continue
        if place == last and end != _TONIC:
            continue
        if place == 0 and end not in (_TONIC, _THIRD):
            continue
        if texture is Texture.UNLIKE and place == last:
            line = replace(line, level=_holding(line.level))
        yield line


def _holding(level: Level) -> Level:
    """The level of a part that holds on: halves may go on and on, nothing need be new in it."""
    rules = level.rules
    rules = replace(rules, free_cells=True, same_cell=_HALVES, colours=rules.colours + 1)
    return replace(level, rhythm_focus=None, rules=rules)


def _cost(line: LinePlan, levels: Sequence[Level], key: Key, ranges: Sequence[VoiceRange]) -> float:
    down = [level.steps[0] for level in levels].index(line.step)
    placement = Placement(key=key, do_octaves=line.do_octaves)
    outside = outside_share(line.tones, placement, [ranges[voice] for voice in line.voices])
    less = len(levels[0].tones) - len(line.tones)
    return _A_STEP_LOWER * down + _ALL_OUTSIDE * outside + _A_TONE_LESS * less
