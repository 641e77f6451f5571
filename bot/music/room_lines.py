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
from bot.music.cell import Cell
from bot.music.companion import Footing, LinePlan, companions, levels_down
from bot.music.composer import Composer
from bot.music.edges import Singer
from bot.music.exercise import Exercise, Tone
from bot.music.frames import Frame
from bot.music.joint import Joint, JointLines
from bot.music.joint_draw import Score, Setting, draw_together
from bot.music.level import Level
from bot.music.patterns import Filling, Pattern
from bot.music.pitch import Key, Mode
from bot.music.placement import Placement, tones_within
from bot.music.rhythm import Metre
from bot.music.rhythms import Path
from bot.music.sequence import Sequence as Steps
from bot.music.side import Side
from bot.music.slices import slices_of
from bot.music.variants import best_octaves, outside_share, preferred_keys, together
from bot.music.voice import VoiceRange
from bot.music.voice_leading import Manner

_A_TONE_LOST, _ALL_OUTSIDE = 3.0, 6.0  # as where one line is placed
_ANOTHER_LINE, _A_STEP_LOWER, _TWO_TONES_ONLY = 5.0, 1.5, 30.0
# A companion in the register of the main line may change places with it.
_COMPANIONS = Manner(crossing=0.5)
# Three different lines keep their order, and the lower ones say a tone twice at most: there are
# more than enough such settings, and they are summed within seconds.
_THREE, _TWICE = Manner(), 2
_APART = 6.0  # two voices with a line of their own instead of one together
_PLANS = 16  # plans of one room that are tried


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomPlan:
    """Who sings what in a key: the main line first, every voice in one of the lines."""

    key: Key
    lines: tuple[LinePlan, ...]
    cost: float


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
        only = Exercise(key=self.exercise.key, metre=self.exercise.metre, parts=(part,))
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
) -> RoomReading:
    """Lines for a room of one to three voices, the highest first, in one sounding key.

    Where one line serves all, all have it. Raises NoExercise like `compose`; where no lines go
    together at all, with the rule for which the voices have no common line.
    """
    if key is not None and key.mode is not Mode.MAJOR:
        raise NoExercise("refusal.mode", in_key=str(key), step=level.steps[0])
    try:
        placement = together(level, ranges, key)
        plans = [one_line(level, ranges, placement)]
        refusal = None
    except NoExercise as forbidden:
        plans = room_plans(sequence, level, ranges, key)[:_PLANS]
        refusal = forbidden
    for plan in plans:
        room = Room(plan)
        random = Random(seed)  # noqa: S311 -- the same seed has to give the same lines
        exercise = room.draw(random, metre=metre, measures=measures, seen=seen)
        if exercise is not None:
            return RoomReading(exercise=exercise, plan=plan)
    raise refusal or NoExercise("refusal.no-line", step=", ".join(level.steps))


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
    return LinePlan(
        footing=Footing.MAIN,
        voices=voices,
        do_octaves=placement.do_octaves,
        level=level,
        tones=tones_within(level, placement, [ranges[voice] for voice in voices]),
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
    return each * (1 + len(line.voices)) / 2


class Room:
    """Draws the lines of one plan; builds what it needs when it needs it."""

    def __init__(self, plan: RoomPlan, manner: Manner | None = None) -> None:
        self.plan = plan
        self._manner = manner or (_THREE if len(plan.lines) > 2 else _COMPANIONS)
        main = plan.lines[0]
        self._composer = Composer(main.level, main.tones)
        self._singers = singers_of(plan)
        self._joints: dict[int, Joint] = {}
        self._score = Score(
            plan.key,
            tuple(line.tones for line in plan.lines),
            tuple(line.do_octaves[0] for line in plan.lines),
        )

    def draw(
        self,
        random: Random,
        *,
        metre: Metre | None = None,
        measures: int | None = None,
        seen: Collection[Exercise] = (),
    ) -> Exercise | None:
        """Lines that are none of those seen; None where the plan has none."""
        if len(self.plan.lines) == 1:
            line = self._composer.choose(random, metre=metre, measures=measures, seen=seen)
            return line.exercise(self.plan.key, self._score.do_octaves[0])
        frames = self._composer.frames(metre, measures)
        return draw_together(frames, self.setting, self._score, random, seen)

    def setting(self, frame: Frame, path: Path) -> Setting:
        """Every setting of the plan's lines over one rhythm."""
        measures = frame.line(path)
        rhythms = [
            _slow(line.level, frame.metre, len(measures))
            if line.footing is Footing.TWO_TONES
            else measures
            for line in self.plan.lines
        ]
        free = self._composer.ground(frame.metre, frame.measures).kept_free
        slices = slices_of(frame.metre, rhythms, [free] * len(rhythms), frame.lie)
        lines = JointLines(self._joint(frame.measures), slices)
        return Setting(frame.metre, tuple(rhythms), lines)

    def _joint(self, measures: int) -> Joint:
        if measures not in self._joints:
            sides = []
            for number, line in enumerate(self.plan.lines):
                level, focus = line.level, line.level.pitch_focus
                if number and len(self.plan.lines) > 2 and line.footing is not Footing.TWO_TONES:
                    level = replace(level, rules=replace(level.rules, equal_notes=_TWICE))
                sides.append(Side(level, line.tones, focus.needed(measures) if focus else 0))
            self._joints[measures] = Joint(sides, self._singers, self._manner)
        return self._joints[measures]


def singers_of(plan: RoomPlan) -> tuple[Singer, ...]:
    """Every voice of the room, the highest first, with the heights of its line's tones."""
    found = []
    for number, line in enumerate(plan.lines):
        for voice, octave in zip(line.voices, line.do_octaves, strict=True):
            found.append((voice, Singer(number, heights(plan.key, line.tones, octave))))
    return tuple(singer for _, singer in sorted(found, key=lambda each: each[0]))


def heights(key: Key, tones: Sequence[Tone], octave: int) -> tuple[int, ...]:
    """Tones as semitones."""
    return tuple(key.pitch(tone.step, tone.alter, octave).midi for tone in tones)


def _slow(level: Level, metre: Metre, measures: int) -> tuple[Pattern, ...]:
    """The longest notes of the step that fill a measure alike, all through."""
    cells = [cell for cell in level.cells if len(cell.notes) == 1 and not cell.notes[0].rest]
    cells = [cell for cell in cells if cell.offsets(metre)]
    filled = [pattern for cell in _long_first(cells, metre) for pattern in _alone(cell, metre)]
    return (filled[0],) * measures


def _long_first(cells: Sequence[Cell], metre: Metre) -> list[Cell]:
    """Half a measure where that is a pulse or more, else the measure, else shorter."""
    aim = metre.measure / 2 if metre.pulses == 4 else metre.measure
    return sorted(cells, key=lambda cell: abs(cell.duration - aim))


def _alone(cell: Cell, metre: Metre) -> tuple[Pattern, ...]:
    return Filling((cell,), metre).patterns()
