"""The earned finale: lines that a class sang on its way, stacked into two or three parts.

Three parts are three lines where they agree, else two lines and a held part on their ground.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

from bot.activities.story_music import FinaleMusic, SceneLine
from bot.music.casting import Casting, castings, octaves_of
from bot.music.exercise import Exercise, Tone
from bot.music.over_rests import parallels_over_rests
from bot.music.partners import PartnerStack, best_partners
from bot.music.shared_ground import SharedGround
from bot.music.voice import VoiceRange
from bot.service.story_held import with_held_part

_BEST = 4  # pairs that are tried with a held part
_Row = tuple[str, Exercise]  # a scene and its line
_Stacks = tuple[PartnerStack, ...]


class Stacker:
    """Stacks lines of one story for one choir; remembers which pairs sound well."""

    def __init__(
        self, ranges: Sequence[VoiceRange], ground: SharedGround, tones: Sequence[Tone]
    ) -> None:
        self._ranges, self._ground, self._tones = tuple(ranges), ground, tuple(tones)
        self._held_parts: dict[tuple[Exercise, tuple[VoiceRange, ...], int], Exercise | None] = {}
        self._known: dict[tuple[Exercise, Exercise, VoiceRange, VoiceRange], _Stacks] = {}

    def best(
        self, scenes: Sequence[str], lines: Sequence[Exercise], parts: int
    ) -> FinaleMusic | None:
        """The best end in two or three parts; None where there is none.

        `scenes` names the scene of each line; every line has one part. Lines of another key, metre
        or length than the first are left out.
        """
        rows = _alike(scenes, lines)
        found = self._pairs(rows) if parts == 2 else self._triples(rows) or self._held(rows)
        return max(found, key=lambda each: each.worth, default=None)

    def _stacks(self, lines: Sequence[Exercise], ranges: Sequence[VoiceRange]) -> _Stacks:
        if len(lines) != 2:
            return _clean(best_partners(lines, ranges))
        asked = (lines[0], lines[1], ranges[0], ranges[1])
        if asked not in self._known:
            self._known[asked] = _clean(best_partners(lines, ranges))
        return self._known[asked]

    def _pairs(self, rows: Sequence[_Row]) -> list[FinaleMusic]:
        return [
            finale
            for casting in castings(self._ranges, 2)
            for pair in combinations(rows, 2)
            for stack in self._stacks([line for _, line in pair], casting.ranges)
            if (finale := self._cast(stack, [pair[n][0] for n in stack.lines], casting))
        ]

    def _triples(self, rows: Sequence[_Row]) -> list[FinaleMusic]:
        """Three lines; only those are tried of which every two sound well somewhere."""
        found = []
        for casting in castings(self._ranges, 3):
            places = list(combinations(casting.ranges, 2))
            sound = {
                (one, other)
                for (one, first), (other, second) in combinations(rows, 2)
                if any(self._stacks([first, second], place) for place in places)
            }
            for three in combinations(rows, 3):
                if not sound.issuperset(combinations([scene for scene, _ in three], 2)):
                    continue
                for stack in self._stacks([line for _, line in three], casting.ranges):
                    names = [three[number][0] for number in stack.lines]
                    if finale := self._cast(stack, names, casting):
                        found.append(finale)
        return found

    def _held(self, rows: Sequence[_Row]) -> list[FinaleMusic]:
        """Two lines and a held part, below them if it can be, else between or above."""
        for casting in castings(self._ranges, 3):
            for place in (2, 1, 0):
                ranges = tuple(each for n, each in enumerate(casting.ranges) if n != place)
                stacks = [
                    (stack, [pair[number][0] for number in stack.lines])
                    for pair in combinations(rows, 2)
                    for stack in self._stacks([line for _, line in pair], ranges)
                ]
                stacks.sort(key=lambda each: -each[0].worth)
                for stack, names in stacks[:_BEST]:
                    whole = self._over(stack.exercise, casting.ranges, place)
                    names.insert(place, "")
                    over = replace(stack, exercise=whole or stack.exercise)
                    if whole is not None and (finale := self._cast(over, names, casting)):
                        return [finale]
        return []

    def _over(self, pair: Exercise, ranges: tuple[VoiceRange, ...], place: int) -> Exercise | None:
        """Two lines with a held part, remembered as found or not."""
        asked = (pair, ranges, place)
        if asked not in self._held_parts:
            self._held_parts[asked] = with_held_part(pair, self._ground, self._tones, ranges, place)
        return self._held_parts[asked]

    def _cast(
        self, stack: PartnerStack, scenes: Sequence[str], casting: Casting
    ) -> FinaleMusic | None:
        """Parts with their singers; None where a voice that shares a part cannot sing it."""
        octaves = octaves_of(stack.exercise, casting, self._ranges)
        if octaves is None:
            return None
        return FinaleMusic(
            exercise=stack.exercise,
            scenes=tuple(scenes),
            singers=casting.singers,
            do_octaves=octaves,
            worth=stack.worth,
        )


def _clean(stacks: _Stacks) -> _Stacks:
    return tuple(stack for stack in stacks if not parallels_over_rests(stack.exercise))


def _alike(scenes: Sequence[str], lines: Sequence[Exercise]) -> list[_Row]:
    """The lines that share key, metre and length with the first, with their scenes."""
    rows = zip(scenes, lines, strict=True)
    return [(scene, line) for scene, line in rows if _shape(line) == _shape(lines[0])]


def _shape(line: Exercise) -> tuple[object, ...]:
    return line.key, line.metre, line.pickup, line.length


def once_more(scene: str, line: SceneLine) -> FinaleMusic:
    """A scene's line sung again as it was, for a story that ends in one part."""
    return FinaleMusic(
        exercise=line.exercise,
        scenes=(scene,) + ("",) * (len(line.exercise.parts) - 1),
        singers=line.singers,
        do_octaves=line.do_octaves,
    )
