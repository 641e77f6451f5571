"""Lines over one ground, composed against one another, and which of them go together."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import ceil
from random import Random

from bot.errors import NoExercise
from bot.music.against import draw_against
from bot.music.breadth import goes_somewhere
from bot.music.casting import castings, octaves_of
from bot.music.exercise import Exercise, Tone
from bot.music.level import Level
from bot.music.over_ground import GroundComposer
from bot.music.over_rests import parallels_over_rests
from bot.music.partners import PartnerStack, best_partners
from bot.music.placement import Placement, tones_within
from bot.music.rhythm import Metre
from bot.music.room_lines import one_line
from bot.music.shared_ground import shared_ground
from bot.music.voice import VoiceRange

GOOD = 0.4  # worth of a stack from which on there is no need to look for a better one
_SECOND, _THIRD = 9, 3  # lines that are composed against the first, and against each good pair
_PAIRS = 2  # such pairs
MOST_LINES = 1 + _SECOND + _PAIRS * _THIRD  # or a few more, where lines end on several tones
_OTHER_ENDS = (2, 4)  # steps above the tonic


@dataclass(frozen=True, slots=True, kw_only=True)
class Stack:
    """Lines of a set that sound together, the highest part first.

    `lines` says which line (from 0) each part of `exercise` is; `singers` which voices sing it, and
    `do_octaves` the octave of do of each of them. `worth` is higher for lines that match better.
    """

    exercise: Exercise
    lines: tuple[int, ...]
    singers: tuple[tuple[int, ...], ...]
    do_octaves: tuple[tuple[int, ...], ...]
    worth: float

    @property
    def chosen(self) -> tuple[int, ...]:
        """The lines in their order, whoever sings which."""
        return tuple(sorted(self.lines))


class Pool:
    """A first line and many that were composed against it, all over one ground."""

    def __init__(
        self,
        level: Level,
        placement: Placement,
        ranges: Sequence[VoiceRange],
        shape: tuple[Metre, int, int],
        random: Random,
        read: Sequence[Exercise],
    ) -> None:
        metre, measures, seed = shape
        self._level, self._placement, self._ranges = level, placement, tuple(ranges)
        self._metre, self._measures = metre, measures
        self._random, self._read = random, tuple(read)
        self._tones = tones_within(level, placement, ranges)
        self.ground = shared_ground(
            self._tones, metre, measures, seed=seed, mode=placement.key.mode
        )
        self._lines: list[Exercise] = []
        self._stacks: dict[tuple[int, ...], Stack | None] = {}

    def fill(self, count: int, told: Callable[[int], None]) -> None:
        """Compose the lines, none twice: against the first, for more than a pair against two."""
        composer = GroundComposer(self._level, self._tones, self.ground, strict=True)
        try:
            first = composer.choose(
                self._random, metre=self._metre, measures=self._measures, seen=self._read
            )
        except NoExercise:
            return  # this ground has no line of the step
        self._lines.append(first.exercise(self._placement.key, self._placement.do_octaves[0]))
        self._draw((0,), _SECOND, told)
        if count > 2:
            pairs = [stack for n in range(1, len(self._lines)) if (stack := self._stack((0, n)))]
            pairs.sort(key=lambda stack: -stack.worth)
            for stack in pairs[:_PAIRS]:
                self._draw(stack.chosen, _THIRD, told)
                if any(self._worth(each)[0] >= GOOD for each in self._cliques(count, threes=True)):
                    break

    def _draw(self, fixed: tuple[int, ...], most: int, told: Callable[[int], None]) -> None:
        """Compose lines against others, ending in turn on each tone that they may end on."""
        others = [self._against(end, [self._lines[n] for n in fixed]) for end in self._ends()]
        for _ in range(ceil(most / max(len(others), 1))):
            for draw in list(others):
                told(len(self._lines))
                line = draw()
                if line is None:
                    others.remove(draw)
                else:
                    self._lines.append(line)

    def _against(self, end: Tone, fixed: Sequence[Exercise]) -> Callable[[], Exercise | None]:
        """Draws lines against others that end on a tone; None where there is none more."""
        level, metre, measures = _ending(self._level, end), self._metre, self._measures
        plan = one_line(level, self._ranges, self._placement)
        composer = GroundComposer(level, self._tones, self.ground, strict=False)

        def draw() -> Exercise | None:
            seen = (*self._read, *self._lines)
            try:
                return draw_against(composer, plan, fixed, metre, measures, self._random, seen)
            except NoExercise:
                return None  # all of them are read

        return draw

    def _ends(self) -> Iterator[Tone]:
        """Where partners end: home, where two ways lead there; else, or beside it, on mi or so."""
        end, level = self._level.conditions.end, self._level
        ways = {level.degree(tone) for tone in set(level.conditions.cadence) & set(self._tones)}
        if len(ways) > 1:
            yield end
        for tone in self._tones:
            if tone.step - end.step in _OTHER_ENDS and not tone.alter:
                yield tone

    def best(self, count: int) -> tuple[tuple[Exercise, ...], tuple[Stack, ...]] | None:
        """The lines that go together best, in threes too where any do, and all their stacks.

        None where no choice of lines goes together in twos. Stacks are the best first.
        """
        sets = list(self._cliques(count, threes=True)) or list(self._cliques(count, threes=False))
        if not sets:
            return None
        chosen = max(sets, key=self._worth)
        found = [self._stack(some) for n in (2, 3) for some in combinations(chosen, n)]
        named = [
            replace(each, lines=tuple(chosen.index(n) for n in each.lines))
            for each in found
            if each
        ]
        named.sort(key=lambda each: (-each.worth, each.chosen))
        return tuple(self._lines[number] for number in chosen), tuple(named)

    def _cliques(self, count: int, *, threes: bool) -> Iterator[tuple[int, ...]]:
        """Every choice of lines with the first among them of which any two (or three) agree."""
        if not self._lines:
            return
        sizes = (1, 2) if threes else (1,)

        def grown(chosen: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
            if len(chosen) == count:
                yield chosen
                return
            for number in range(chosen[-1] + 1, len(self._lines)):
                if all(
                    self._stack((*some, number)) for n in sizes for some in combinations(chosen, n)
                ):
                    yield from grown((*chosen, number))

        yield from grown((0,))

    def _worth(self, chosen: tuple[int, ...]) -> tuple[float, float]:
        """The pair that agrees least first, as far as it counts, then all together."""
        found = [self._stack(some) for n in (2, 3) for some in combinations(chosen, n)]
        worths = [each.worth for each in found if each]
        dull = sum(not self._goes_somewhere(self._lines[number]) for number in chosen)
        return min(*worths, GOOD) - dull, sum(worths)

    def _goes_somewhere(self, line: Exercise) -> bool:
        return goes_somewhere(line.parts[0].tones(), self._measures, self._tones)

    def _stack(self, some: tuple[int, ...]) -> Stack | None:
        """The best way for the choir to sing some lines together, found once; None for none."""
        if some not in self._stacks:
            self._stacks[some] = best_stack([self._lines[n] for n in some], some, self._ranges)
        return self._stacks[some]


def best_stack(
    lines: Sequence[Exercise], numbers: Sequence[int], ranges: Sequence[VoiceRange]
) -> Stack | None:
    """The best way for voices to sing lines together; None where they do not sound well."""
    found = []
    for casting in castings(ranges, len(lines)):
        for stack in best_partners(lines, casting.ranges):
            octaves = octaves_of(stack.exercise, casting, ranges)
            if octaves is not None and not parallels_over_rests(stack.exercise):
                found.append(_named(stack, numbers, casting.singers, octaves))
    return max(found, key=lambda each: each.worth, default=None)


def highest_first(exercise: Exercise) -> list[int]:
    """The parts in the order in which they lie, as a score has them."""

    def height(part: int) -> float:
        pitches = exercise.pitches(part)
        return sum(pitch.midi for pitch in pitches) / len(pitches)

    return sorted(range(len(exercise.parts)), key=height, reverse=True)


def _named(
    stack: PartnerStack,
    numbers: Sequence[int],
    singers: tuple[tuple[int, ...], ...],
    octaves: tuple[tuple[int, ...], ...],
) -> Stack:
    return Stack(
        exercise=stack.exercise,
        lines=tuple(numbers[n] for n in stack.lines),
        singers=singers,
        do_octaves=octaves,
        worth=stack.worth,
    )


def _ending(level: Level, end: Tone) -> Level:
    """The level whose lines end on a tone, by step or by its own cadence."""
    if end == level.conditions.end:
        return level
    near = tuple(tone for tone in level.tones if abs(tone.step - end.step) == 1)
    return replace(level, conditions=replace(level.conditions, end=end, cadence=near))
