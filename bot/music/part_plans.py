"""Who sings what where all parts are composed together: every plan for some voices, best first.

Each part is held to the step in its own range; where that does not let it, it reads a lower pitch
step.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import islice, product

from bot.music.companion import Footing, LinePlan, RoomPlan, companions, levels_down
from bot.music.level import Level
from bot.music.pitch import Key
from bot.music.placement import Placement
from bot.music.sequence import Sequence as Steps
from bot.music.texture import Texture, parts_needed, texture_of
from bot.music.variants import outside_share, preferred_keys
from bot.music.voice import VoiceRange

ON_TWO_TONES = (Texture.OSTINATO, Texture.PEDAL)  # what the lowest part sings in these
_TONIC, _THIRD = 0, 2  # degrees
_HALVES = 16  # in eight measures
_FEW = 4  # lines of each part that are tried
_A_STEP_LOWER, _ALL_OUTSIDE, _A_TONE_LESS = 2.0, 6.0, 0.4


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
        if two_tones is not (texture in ON_TWO_TONES and place == last):
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
