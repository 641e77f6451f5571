"""One key for the room: the main line for the voices that it fits, companion lines for the others.

Which key, who sings the main line and what the others get is decided by what each choice costs: the
key's place in the order of preference, tones that the main line loses, notes outside the tessitura,
voices that read another line, and how far below the choir's step that line lies. The lines of the
best plan are then composed all at once, so that none is left without a tone.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from random import Random

from bot.errors import NoExercise
from bot.music.climax import rests
from bot.music.companion import Footing, LinePlan, RoomPlan, companions, levels_down
from bot.music.ensemble import Room, RoomOf
from bot.music.exercise import Exercise
from bot.music.level import Level, any_climax
from bot.music.pitch import Key
from bot.music.placement import Placement, tones_within, wrong_mode
from bot.music.reason import Asked
from bot.music.rhythm import Metre
from bot.music.sequence import Sequence as Steps
from bot.music.variants import best_octaves, outside_share, preferred_keys, together
from bot.music.voice import VoiceRange

_A_TONE_LOST, _ALL_OUTSIDE = 3.0, 6.0  # as where one line is placed
_ANOTHER_LINE, _A_STEP_LOWER, _TWO_TONES_ONLY = 5.0, 1.5, 30.0
_NARROW, _SIXTH = 2.0, 5  # each scale step that the tones of another line reach less than a sixth
_APART = 6.0  # two voices with a line of their own instead of one together
_PLANS = 16  # plans of one room that are tried


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomReading:
    """Lines that sound together: part `i` of the exercise is the line of `plan.lines[i]`."""

    exercise: Exercise
    plan: RoomPlan

    def line_of(self, voice: int) -> int:
        """Which line a voice sings."""
        return next(n for n, line in enumerate(self.plan.lines) if voice in line.voices)

    def do_octave_of(self, voice: int) -> int:
        """The octave of do of a voice."""
        line = self.plan.lines[self.line_of(voice)]
        return line.do_octaves[line.voices.index(voice)]

    def alone(self, voice: int) -> Exercise:
        """The line of a voice in its octave, as an exercise of its own."""
        part = self.exercise.parts[self.line_of(voice)]
        only = replace(self.exercise, parts=(part,))
        return only.in_key(self.exercise.key, (self.do_octave_of(voice),))


def room_lines(
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
) -> RoomReading:
    """Lines for a room of one to three voices, the highest first, in one sounding key.

    Where one line serves all, all have it. `rooms` makes the tables of a plan. Raises NoExercise
    like `compose`; where no lines go together at all, with the rule for which the voices have no
    common line.
    """
    if wrong := wrong_mode(level, key):
        raise wrong

    def composes(
        at: Level, metre: Metre | None, measures: int | None, seen: Collection[Exercise] = ()
    ) -> RoomReading:
        plans, refusal = _best_plans(sequence, at, ranges, key)
        for plan in plans:
            room = rooms(plan, None, None)
            random = Random(seed)  # noqa: S311 -- the same seed has to give the same lines
            exercise = room.draw(random, metre=metre, measures=measures, seen=seen)
            if exercise is not None:
                return RoomReading(exercise=exercise, plan=plan)
        raise refusal or NoExercise("refusal.no-line", step=", ".join(at.steps))

    try:
        return composes(level, metre, measures, seen)
    except NoExercise as refusal:
        asked = Asked(composes=composes, level=level, metre=metre, measures=measures)
        raise asked.reason(refusal) from refusal


def _best_plans(
    sequence: Steps, level: Level, ranges: Sequence[VoiceRange], key: Key | None
) -> tuple[Sequence[RoomPlan], NoExercise | None]:
    """One line for all, else the best plans with companions and why there is no such line."""
    try:
        return [one_line(level, ranges, together(level, ranges, key))], None
    except NoExercise as refusal:
        return room_plans(sequence, level, ranges, key)[:_PLANS], refusal


def one_line(level: Level, ranges: Sequence[VoiceRange], placement: Placement) -> RoomPlan:
    """The plan of one line that all voices sing."""
    line = _main_line(level, tuple(range(len(ranges))), ranges, placement)
    return RoomPlan(key=placement.key, lines=(line,), cost=0.0)


def room_plans(
    sequence: Steps, level: Level, ranges: Sequence[VoiceRange], key: Key | None
) -> list[RoomPlan]:
    """Every plan with a main line for some voice and companions for the others, best first."""
    found: list[RoomPlan] = []
    lower = tuple(levels_down(sequence, level))
    for rank, each in enumerate([key] if key else preferred_keys(level, ranges)):
        for size in range(len(ranges) - 1, 0, -1):
            for voices in combinations(range(len(ranges)), size):
                found += _plans(lower, ranges, each, voices, rank)
    return sorted(found, key=lambda plan: plan.cost)


def _plans(
    levels: Sequence[Level],
    ranges: Sequence[VoiceRange],
    key: Key,
    voices: tuple[int, ...],
    rank: int,
) -> Iterator[RoomPlan]:
    level, reach = levels[0], [ranges[voice] for voice in voices]
    placement = best_octaves(level, reach, key)
    try:
        main = _main_line(level, voices, ranges, placement)
    except NoExercise:
        return
    cost = rank + _A_TONE_LOST * (len(level.tones) - len(main.tones))
    cost += _ALL_OUTSIDE * outside_share(main.tones, placement, reach)
    others = tuple(voice for voice in range(len(ranges)) if voice not in voices)
    for lines in _shared(levels, ranges, key, others):
        extra = sum(_cost(line, levels, key, ranges) for line in lines) + _APART * (len(lines) - 1)
        yield RoomPlan(key=key, lines=(main, *lines), cost=cost + extra)


def _main_line(
    level: Level, voices: tuple[int, ...], ranges: Sequence[VoiceRange], placement: Placement
) -> LinePlan:
    tones = tones_within(level, placement, [ranges[voice] for voice in voices])
    return LinePlan(
        footing=Footing.MAIN,
        voices=voices,
        do_octaves=placement.do_octaves,
        level=any_climax(level) if rests(level.conditions, tones) else level,
        tones=tones,
        step=level.steps[0],
    )


def _shared(
    levels: Sequence[Level],
    ranges: Sequence[VoiceRange],
    key: Key,
    others: tuple[int, ...],
) -> Iterator[tuple[LinePlan, ...]]:
    """Companion lines for the other voices: one for all of them, or one for each."""
    for line in _few(companions(levels[0], levels, others, ranges, key)):
        yield (line,)
    if len(others) == 2:
        for high in _few(companions(levels[0], levels, others[:1], ranges, key)):
            for low in _few(companions(levels[0], levels, others[1:], ranges, key)):
                yield (high, low)


def _few(lines: Iterator[LinePlan]) -> list[LinePlan]:
    """The best two lines of each footing and step, so that few plans say much."""
    found: dict[tuple[Footing, str], list[LinePlan]] = {}
    for line in lines:
        row = found.setdefault((line.footing, line.step), [])
        if len(row) < 2:
            row.append(line)
    kept = [line for row in found.values() for line in row]
    return [line for line in kept if line.footing is not Footing.LOWER_STEP][:4] + [
        line for line in kept if line.footing is Footing.LOWER_STEP
    ][:4]


def _cost(line: LinePlan, levels: Sequence[Level], key: Key, ranges: Sequence[VoiceRange]) -> float:
    down = [level.steps[0] for level in levels].index(line.step)
    placement = Placement(key=key, do_octaves=line.do_octaves)
    outside = outside_share(line.tones, placement, [ranges[voice] for voice in line.voices])
    each = _ANOTHER_LINE + _A_STEP_LOWER * down + _ALL_OUTSIDE * outside
    if line.footing is Footing.TWO_TONES:
        each += _TWO_TONES_ONLY
    else:
        each += _NARROW * max(_SIXTH - line.tones[-1].step + line.tones[0].step, 0)
    return each * (1 + len(line.voices)) / 2
