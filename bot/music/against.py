"""A line composed against lines that are fixed already, so that all of them sound well together.

The fixed lines go through the joint sum as voices with one way on from each of their notes; the new
line is drawn with its exact probability among those that keep the rules of singing together with
them in every way in which the room may sing them: in one octave, or octaves apart.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from fractions import Fraction
from random import Random

import numpy as np

from bot.music.cell import Cell, CellNote
from bot.music.companion import LinePlan, RoomPlan
from bot.music.composer import Composer
from bot.music.drawing import Unread
from bot.music.ensemble import COMPANIONS, THREE, heights
from bot.music.exercise import Exercise, Note
from bot.music.frames import Frame
from bot.music.joint import Joint
from bot.music.joint_draw import Score, Setting, draw_together
from bot.music.joint_lines import JointLines
from bot.music.messages import Floats
from bot.music.patterns import Pattern, Struck, ticks
from bot.music.rhythm import Metre
from bot.music.rhythms import Path
from bot.music.side import Side, Ways
from bot.music.slices import Stroke, slices_of
from bot.music.slices import Struck as Note_
from bot.music.sounding import Singer
from bot.music.voice_leading import Manner, consonant

_MANNER = Manner(crossing=0.5)
# Rhythms that nothing fits until none is to be expected, by the number of fixed lines.
_PATIENCE = {1: 40, 2: 12}
_NO_CELL = Cell(text="", notes=(CellNote(duration=Fraction(1, 4)),), beats=())


class FixedSide(Side):
    """A part whose line is given: a context for each of its notes, one way on from each."""

    def __init__(self, line: Exercise) -> None:
        sung = line.parts[0].tones()
        self.tones = tuple(sorted(set(sung)))
        self.hits = 0
        self._line = np.array([self.tones.index(tone) for tone in sung])

    @property
    def contexts(self) -> int:
        """Number of notes."""
        return len(self._line)

    def ways(self, stroke: Stroke) -> Ways:
        """The way on from each note."""
        line, every = self._line, np.arange(len(self._line))
        none = np.zeros_like(every)
        match stroke:
            case Stroke.BEGIN:
                return Ways(none[:1], none[:1], line[:1], line[:1], none[:1], none[:1])
            case Stroke.STRIKE | Stroke.SEAM:
                return Ways(every[:-1], every[1:], line[:-1], line[1:], none[1:], none[1:])
            case Stroke.HOLD | Stroke.REST:
                return Ways(every, every, line, line, none, none)

    def weights(self, stroke: Stroke, struck: Note_ | None) -> Floats:
        """Every way on weighs the same."""
        del struck
        return np.ones(len(self.ways(stroke).src))


def draw_against(
    composer: Composer,
    plan: RoomPlan,
    fixed: Sequence[Exercise],
    metre: Metre,
    measures: int,
    random: Random,
    seen: Collection[Exercise] = (),
) -> Exercise | None:
    """The plan's one line, sounding well with the fixed ones; None where there is none.

    Fixed lines have one part, in the key, metre and length of the new one.
    """
    main = plan.lines[0]
    sides = [_new_side(composer, main, measures), *map(FixedSide, fixed)]
    casting = _casting(plan, sides)
    if not _can_begin(main, fixed, casting):
        return None
    joint = Joint(sides, [casting], _MANNER)
    rows = [_patterns(line, metre) for line in fixed]
    free = composer.ground(metre, measures).kept_free

    def setting(frame: Frame, path: Path) -> Setting:
        sung = (frame.line(path), *rows)
        new = [free, *[frozenset[str]()] * len(rows)]
        return Setting(metre, sung, JointLines(joint, slices_of(metre, sung, new, frame.lie)))

    octave = main.do_octaves[0]
    tones = tuple(side.tones for side in sides)
    score = Score(plan.key, tones, (octave,) * len(sides))
    shape = (metre, Fraction(0), fixed[0].length)
    read = [
        _beside(each, fixed, octave)
        for each in seen
        if len(each.parts) == 1 and (each.metre, each.pickup, each.length) == shape
    ]
    frames = composer.frames(metre, measures)
    found = draw_together(frames, setting, score, random, read, patience=_PATIENCE[len(fixed)])
    return replace(found, parts=found.parts[:1]) if found else None


def with_companions(plan: RoomPlan, main: Exercise, random: Random) -> Exercise | None:
    """The other lines of a plan to a main line that is settled; None where there are none.

    All lines have the main line's rhythm.
    """
    rhythm = _patterns(main, main.metre)
    measures = len(rhythm)
    others = [
        Side(line.level, line.tones, 0 if plan.shared else _needed(line, measures))
        for line in plan.lines[1:]
    ]
    sides: list[Side] = [FixedSide(main), *others]
    usual = THREE if len(plan.lines) > 2 else COMPANIONS
    manner = replace(usual, drone=any(line.drone for line in plan.lines))
    slices = slices_of(main.metre, [rhythm] * len(sides), [frozenset()] * len(sides))
    lines = JointLines(Joint(sides, [_singers(plan, sides)], manner), slices)
    if not lines.total > 0.0:
        return None
    drawn = Unread(lines).draw(random)
    octaves = tuple(line.do_octaves[0] for line in plan.lines)
    score = Score(plan.key, tuple(side.tones for side in sides), octaves)
    return score.exercise(Setting(main.metre, (rhythm,) * len(sides), lines), drawn)


def _new_side(composer: Composer, main: LinePlan, measures: int) -> Side:
    return Side(composer.level, main.tones, _needed(main, measures))


def _needed(line: LinePlan, measures: int) -> int:
    focus = line.level.pitch_focus
    return focus.needed(measures) if focus else 0


def _singers(plan: RoomPlan, sides: Sequence[Side]) -> tuple[Singer, ...]:
    """Every voice of the room with the heights of its side's tones."""
    voices = [
        (voice, Singer(number, heights(plan.key, sides[number].tones, octave)))
        for number, line in enumerate(plan.lines)
        for voice, octave in zip(line.voices, line.do_octaves, strict=True)
    ]
    return tuple(singer for _, singer in sorted(voices, key=lambda each: each[0]))


def _casting(plan: RoomPlan, sides: Sequence[Side]) -> tuple[Singer, ...]:
    """The new line in the room's highest octave, the fixed ones in its lowest."""
    octaves = plan.lines[0].do_octaves
    return tuple(
        Singer(number, heights(plan.key, side.tones, min(octaves) if number else max(octaves)))
        for number, side in enumerate(sides)
    )


def _can_begin(main: LinePlan, fixed: Sequence[Exercise], casting: Sequence[Singer]) -> bool:
    """Whether some first tone sounds well with those of the fixed lines."""
    firsts = [line.parts[0].tones()[0] for line in fixed]
    below = [
        singer.heights[sorted(set(line.parts[0].tones())).index(first)]
        for singer, line, first in zip(casting[1:], fixed, firsts, strict=True)
    ]
    starts = [
        height
        for tone, height in zip(main.tones, casting[0].heights, strict=True)
        if tone in main.level.conditions.start
    ]
    sides = range(len(casting))
    return any(
        bool(consonant([np.array(height) for height in (start, *below)], sides, _MANNER))
        for start in starts
    )


def _patterns(line: Exercise, metre: Metre) -> tuple[Pattern, ...]:
    """The measures of a line as the composer has them; cells are not known and not needed."""
    rows: list[list[Struck]] = [[] for _ in range(line.measures)]
    held: tuple[int, ...] = ()  # the pieces of a note that goes on
    at = 0  # its measure
    for offset, note in line.parts[0].timed():
        pieces = (*held, ticks(note.duration))
        if not held:
            at = int(offset // metre.measure)
            rows[at].append(_struck(offset % metre.measure, note, metre))
        whole, last = sum(pieces), rows[at][-1]
        length = (whole >= ticks(metre.pulse)) + (whole > ticks(metre.pulse))
        tied = pieces if len(pieces) > 1 else ()
        rows[at][-1] = last._replace(ticks=whole, length=length, tied=tied)
        held = pieces if note.tied else ()
    return tuple(_pattern(row, metre) for row in rows)


def _struck(at: Fraction, note: Note, metre: Metre) -> Struck:
    rest = note.tone is None
    return Struck(ticks(at), ticks(note.duration), rest, 0, metre.strength(at), 0)


def _pattern(struck: Sequence[Struck], metre: Metre) -> Pattern:
    last = struck[-1]
    return Pattern(
        cells=(_NO_CELL,),
        struck=tuple(struck),
        notes=sum(1 for each in struck if not each.rest),
        uniform=False,
        over=last.offset + last.ticks > ticks(metre.measure),
    )


def _beside(line: Exercise, fixed: Sequence[Exercise], octave: int) -> Exercise:
    """A line that was read as the joint draw would have it: with the fixed ones below it."""
    parts = [line.parts[0], *(each.parts[0] for each in fixed)]
    return replace(line, parts=tuple(replace(part, do_octave=octave) for part in parts))
