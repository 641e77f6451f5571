"""Canons at two measures: a line of four whose second half goes with its first.

Both halves are summed at once, the second from the very context in which the first ends; so every
canon comes with its exact probability. The first part sings the line twice, the second part enters
after two measures and ends with the first half again, over the end of the first part. A line with a
pickup is one whose second half begins before the bar too; no note is held from half to half.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from fractions import Fraction
from random import Random

from bot.errors import NoExercise
from bot.music.cell import silent
from bot.music.companion import RoomPlan, same_line
from bot.music.composer import Composer
from bot.music.ensemble import heights, with_fewer_skips
from bot.music.exercise import Exercise
from bot.music.frames import Frame, Ground
from bot.music.joint import Joint
from bot.music.joint_draw import Score, Setting, draw_together
from bot.music.joint_lines import JointLines
from bot.music.level import Level
from bot.music.lines import Choice, Label
from bot.music.patterns import PHRASE, Pattern, Struck, ticks, with_pickup
from bot.music.pitch import Key
from bot.music.placement import tones_within
from bot.music.rhythm import Metre
from bot.music.rhythms import Path
from bot.music.side import Side
from bot.music.slices import Slice, folded
from bot.music.sounding import Singer
from bot.music.variants import placements
from bot.music.voice import VoiceRange
from bot.music.voice_leading import Manner

ENTRY = 2  # measures after which the second part enters
_LENGTH = 2 * PHRASE
_ENDS = (0, 2)  # tonic and third: tones of the second part under or over the last tonic
_KEYS = 3  # keys that are tried where none is asked for
_RHYTHMS = 64  # that are tried: over a new metre a few in a hundred have a canon


def canon(
    level: Level,
    ranges: Sequence[VoiceRange],
    key: Key | None,
    *,
    metre: Metre | None,
    measures: int | None,
    random: Random,
    seen: Collection[Exercise],
    canons: CanonsOf,
) -> tuple[Exercise, RoomPlan] | None:
    """A canon of eight measures; None where the level has none.

    The highest voice begins, the others enter together. `canons` makes the tables of a plan. Raises
    NoExercise: "refusal.measures", and what `placements` raises.
    """
    if measures not in (None, _LENGTH):
        raise NoExercise(
            "refusal.measures", measures=measures, step=level.steps[2], known=str(_LENGTH)
        )
    home = replace(level, conditions=replace(level.conditions, start=(level.conditions.end,)))
    for placement in placements(level, ranges, () if key is None else (key,))[:_KEYS]:
        plan = same_line(home, tones_within(home, placement, ranges), placement)
        exercise = canons(plan).draw(random, metre, seen)
        if exercise is not None:
            return exercise, plan
    return None


class _CanonGround(Ground):
    """Rhythms of lines that fall into two halves."""

    breath = ENTRY

    def _may_stand(self, pattern: Pattern, places: Sequence[int]) -> bool:
        """The first half ends with a note of a beat, where the next pickup begins if there is one.

        It is what the second part ends with.
        """
        if ENTRY - 1 in places:
            left = self.pickup.duration if self.pickup else Fraction(0)
            entry = ticks(self.metre.measure - left)
            before = [each for each in pattern.struck if each.offset < entry]
            last = [each for each in before if not each.rest][-1:]
            if before[-1].offset + before[-1].ticks != entry or not last or not last[0].length:
                return False
        return super()._may_stand(pattern, places)


class Canons:
    """Draws canons of one plan, as `canon` makes them; keeps its tables."""

    def __init__(self, plan: RoomPlan) -> None:
        first, others = plan.lines
        level, tones = first.level, first.tones
        self._composer = Composer(level, tones, ground=_CanonGround)
        focus = level.pitch_focus
        needed = focus.needed(PHRASE) if focus else 0
        side = Side(with_fewer_skips(level), tones, 0)
        octaves = (*first.do_octaves, *others.do_octaves)
        sung = [heights(plan.key, tones, octave) for octave in octaves]
        castings = [
            [Singer(half if n == 0 else 1 - half, row) for n, row in enumerate(sung)]
            for half in (0, 1)
        ]
        self._joint = Joint([side, side], castings, Manner(crossing=1.0), shared=needed)
        self._score = Score(plan.key, (tones, tones), octaves[:2])

    @property
    def bytes(self) -> int:
        """The memory that its tables take."""
        return self._joint.bytes

    def draw(
        self, random: Random, metre: Metre | None, seen: Collection[Exercise]
    ) -> Exercise | None:
        """One canon that is none of those seen."""
        frames = self.frames(metre)
        if not frames:
            raise NoExercise("refusal.no-line", step=", ".join(self._composer.level.steps))
        return draw_together(frames, self._setting, self._score, random, seen, patience=_RHYTHMS)

    def frames(self, metre: Metre | None) -> Sequence[Frame]:
        """The frames of the line's rhythms."""
        return self._composer.frames(metre, PHRASE)

    def _setting(self, frame: Frame, path: Path) -> Setting:
        measures = frame.line(path)
        free = self._composer.ground(frame.metre, PHRASE).kept_free
        lines = CanonLines(self._joint, folded(frame.metre, measures, free, frame.lie))
        silence, end = [_silent(frame.metre)] * ENTRY, [*measures[:ENTRY]]
        if frame.pickup is not None:
            silence[0] = with_pickup(silence[0], silent(frame.pickup), frame.metre)
            silence[-1], end[-1] = _without(silence[-1], frame), _without(end[-1], frame)
        rhythms = ((*measures, *measures), (*silence, *measures, *end))
        return Setting(frame.metre, rhythms, lines)


CanonsOf = Callable[[RoomPlan], Canons]


class CanonLines:
    """Every canon over one rhythm; the first label is the context at the end of the first half."""

    def __init__(self, joint: Joint, slices: Sequence[Slice]) -> None:
        side = joint.sides[0]
        moves = side.messages.moves
        degrees = [side.level.degree(tone) for tone in moves.tones]
        halves = {
            context: JointLines(joint, slices, bound=context)
            for context, last in enumerate(moves.last.tolist())
            if degrees[last] in _ENDS
        }
        self._halves = {context: each for context, each in halves.items() if each.total > 0.0}
        self._any = next(iter(halves.values()))
        self._counts = [sum(1 for each in slices if each.struck[side]) for side in (0, 1)]
        self.root: tuple[object, ...] = ()
        self.total = sum(each.total for each in self._halves.values())

    def choices(self, state: tuple[object, ...]) -> list[Choice]:
        """Where the first half may end, then the tones of both halves."""
        if not state:
            return [
                (context, each.total, (context, each.root))
                for context, each in self._halves.items()
            ]
        context, inner = state
        assert isinstance(context, int)
        assert isinstance(inner, tuple)
        return [
            (label, mass, (context, after))
            for label, mass, after in self._halves[context].choices(inner)
        ]

    def tones(self, labels: Sequence[Label]) -> tuple[int, ...]:
        """The tones of both halves, slice by slice."""
        return self._any.tones(labels[1:])

    def labels(self, tones: Sequence[int]) -> tuple[Label, ...] | None:
        """The choices that give these tones, None where no canon has them."""
        for context, each in self._halves.items():
            found = each.labels(tones)
            if found is not None:
                return (context, *found)
        return None

    def slice_by_slice(self, rows: Sequence[Sequence[int]]) -> list[int]:
        """The tones of both halves slice by slice, from those of each part's notes."""
        second, first = self._counts
        line = rows[0]
        return self._any.slice_by_slice([line[first : first + second], line[:first]])

    def parts(self, tones: Sequence[int]) -> tuple[tuple[int, ...], ...]:
        """The notes of both parts: the line twice, and once with its first half after it."""
        second, first = self._any.parts(tones)
        return (*first, *second) * 2, (*first, *second, *first)


def _silent(metre: Metre) -> Pattern:
    length = ticks(metre.measure)
    return Pattern(
        cells=(),
        struck=(Struck(0, length, rest=True, cell=0, strength=3, length=2),),
        notes=0,
        uniform=False,
    )


def _without(measure: Pattern, frame: Frame) -> Pattern:
    """A measure as far as the pickup behind it."""
    assert frame.pickup is not None
    end = ticks(frame.metre.measure - frame.pickup.duration)
    kept = [each for each in measure.struck if each.offset < end]
    struck = tuple(each._replace(ticks=min(each.ticks, end - each.offset)) for each in kept)
    return replace(measure, struck=struck, notes=sum(1 for each in struck if not each.rest))
