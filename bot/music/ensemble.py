"""The lines of one plan, drawn together: who sings them, over which rhythms, how strictly."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from random import Random
from typing import NamedTuple

from bot.music.cell import Cell
from bot.music.companion import Footing, LinePlan, RoomPlan
from bot.music.composer import Composer
from bot.music.exercise import Exercise, Tone
from bot.music.frames import Frame
from bot.music.joint import Joint
from bot.music.joint_draw import Score, Setting, draw_together
from bot.music.joint_lines import JointLines
from bot.music.level import Level
from bot.music.newest_together import newest_has_place
from bot.music.patterns import PHRASE, Filling, Pattern, with_pickup
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.rhythms import Path
from bot.music.sequence import Skip
from bot.music.side import Side
from bot.music.slices import slices_of
from bot.music.sounding import Singer
from bot.music.voice_leading import Manner

# A companion in the register of the main line may change places with it.
COMPANIONS = Manner(crossing=0.5)
# Three different lines keep their order. The lower ones say a tone twice at most and skip only in
# the tonic chord or where the step is about a skip: inner parts are the hardest to read, there are
# more than enough such settings, and they are summed within seconds.
THREE, _TWICE = Manner(), 2
_RETURNING = 0.35  # how welcome it is that a lower line goes to and fro, beside a tune
_MANY_SKIPS = 12  # from which on a second line keeps to them too, and of three the first
_TRIAD, _FIFTH = {0, 2, 4}, 4  # degrees from the tonic, and scale steps


class Layout(NamedTuple):
    """Rhythms for all lines, and the tones of lines that are given, note by note."""

    measures: tuple[tuple[Pattern, ...], ...]
    given: Mapping[int, Sequence[int]]


Lay = Callable[[RoomPlan, Frame, Path], Iterator[Layout]]


class Room:
    """Draws the lines of one plan; builds what it needs when it needs it.

    `composer` is that of the main line, for rhythms of another kind.
    """

    def __init__(
        self,
        plan: RoomPlan,
        manner: Manner | None = None,
        lay: Lay | None = None,
        composer: Composer | None = None,
    ) -> None:
        self.plan, self._lay = plan, lay or alike
        usual = THREE if len(plan.lines) > 2 else COMPANIONS
        stays = any(line.drone for line in plan.lines)
        self._manner = manner or replace(usual, drone=stays)
        main = plan.lines[0]
        self._composer = composer or Composer(main.level, main.tones)
        self._singers = singers_of(plan)
        self._joints: dict[int, Joint] = {}
        self.score = Score(
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
        patience: int | None = None,
    ) -> Exercise | None:
        """Lines that are none of those seen; None where the plan has none.

        `patience` as for `draw_together`.
        """
        if len(self.plan.lines) == 1:
            line = self._composer.choose(random, metre=metre, measures=measures, seen=seen)
            return line.exercise(self.plan.key, self.score.do_octaves[0])
        frames = self.frames(metre, measures)
        return draw_together(frames, self.setting, self.score, random, seen, patience=patience)

    def frames(self, metre: Metre | None, measures: int | None) -> Sequence[Frame]:
        """The frames of the main line's rhythms."""
        return self._composer.frames(metre, measures)

    def sides(self, measures: int) -> tuple[Side, ...]:
        """The tables of each line alone."""
        return self._joint(measures).sides

    @property
    def bytes(self) -> int:
        """The memory that its tables of edges take."""
        return sum(joint.bytes for joint in self._joints.values())

    def newest_has_place(self, begins: Mapping[int, Sequence[int]]) -> bool:
        """Whether the lines can come to the newest element together; False is certain.

        `begins` has the tones on which some of them are bound to begin.
        """
        level = self.plan.lines[0].level
        rests = level.pickup is not None or any(n.rest for c in level.cells for n in c.notes)
        return newest_has_place(self._joint(level.measures[0]), rests=rests, begins=begins)

    def setting(self, frame: Frame, path: Path) -> Setting:
        """Every setting of the plan's lines over one rhythm, in the first layout that has any."""
        free = self._composer.ground(frame.metre, frame.measures).kept_free
        setting = None
        for layout in self._lay(self.plan, frame, path):
            new = [free] * len(layout.measures)
            slices = slices_of(frame.metre, layout.measures, new, frame.lie)
            lines = JointLines(self._joint(frame.measures), slices, layout.given)
            setting = Setting(frame.metre, layout.measures, lines)
            if lines.total > 0.0:
                break
        assert setting is not None, "a layout is laid in one way at least"
        return setting

    def _joint(self, measures: int) -> Joint:
        if measures not in self._joints:
            sides = []
            for number, line in enumerate(self.plan.lines):
                level, focus = line.level, line.level.pitch_focus
                three = len(self.plan.lines) > 2
                if number and (three or len(level.skips) > _MANY_SKIPS):
                    level = _plain(line)
                elif three:
                    level = with_fewer_skips(level)
                hits = focus.needed(measures) if focus and not self.plan.shared else 0
                same = line.step == self.plan.lines[0].step or not self.plan.shared
                returning = _RETURNING if number else 1.0
                sides.append(Side(level, line.tones, hits, counts=same, returning=returning))
            first = self.plan.lines[0].level.pitch_focus
            shared = first.needed(measures) if first else 0
            self._joints[measures] = Joint(
                sides, [self._singers], self._manner, shared if self.plan.shared else None
            )
        return self._joints[measures]


RoomOf = Callable[[RoomPlan, Manner | None, Lay | None], Room]


def singers_of(plan: RoomPlan) -> tuple[Singer, ...]:
    """Every voice of the room, the highest first, with the heights of its line's tones."""
    found = []
    for number, line in enumerate(plan.lines):
        for voice, octave in zip(line.voices, line.do_octaves, strict=True):
            found.append((voice, Singer(number, heights(plan.key, line.tones, octave))))
    return tuple(singer for _, singer in sorted(found, key=lambda each: each[0]))


def heights(key: Key, tones: Sequence[Tone], octave: int) -> tuple[int, ...]:
    """Tones as heights of forty to the octave."""
    return tuple(key.pitch(tone.step, tone.alter, octave).base40 for tone in tones)


def _plain(line: LinePlan) -> Level:
    """The level of a lower line that keeps to plain moves."""
    level = line.level
    if line.footing is Footing.TWO_TONES:
        return level
    rules = replace(level.rules, equal_notes=_TWICE)
    return replace(level, skips=_plain_skips(level), rules=rules)


def with_fewer_skips(level: Level) -> Level:
    """The level with plain skips, where it has so many that sums over parts grow too long."""
    if len(level.skips) <= _MANY_SKIPS:
        return level
    return replace(level, skips=_plain_skips(level))


def _plain_skips(level: Level) -> frozenset[Skip]:
    """The skips in the tonic chord, and the newest."""
    focus = level.pitch_focus
    skips = frozenset(
        (low, high)
        for low, high in level.skips
        if {level.degree(low), level.degree(high)} <= _TRIAD and high.step - low.step <= _FIFTH
    )
    return skips | (focus.skips if focus else frozenset())


def alike(plan: RoomPlan, frame: Frame, path: Path) -> Iterator[Layout]:
    """One rhythm for all lines; a line on two tones has the longest notes of the step."""
    measures = frame.line(path)
    yield Layout(
        tuple(
            slow(line.level, frame.metre, len(measures), frame.pickup)
            if line.footing is Footing.TWO_TONES
            else measures
            for line in plan.lines
        ),
        {},
    )


def slow(
    level: Level, metre: Metre, measures: int, pickup: Cell | None = None
) -> tuple[Pattern, ...]:
    """The longest notes of the step that fill a measure alike, all through, pickups before them."""
    full = _filled(level, metre, Fraction(0))
    if pickup is None:
        return (full,) * measures
    first, last = with_pickup(full, pickup, metre), _filled(level, metre, pickup.duration)
    phrase = (first, *[full] * (PHRASE - 2), last)
    return phrase * (measures // PHRASE)


def _filled(level: Level, metre: Metre, without: Fraction) -> Pattern:
    cells = [cell for cell in level.cells if len(cell.notes) == 1 and not cell.notes[0].rest]
    cells = [cell for cell in cells if cell.offsets(metre)]
    return next(
        pattern
        for cell in _long_first(cells, metre)
        for pattern in Filling((cell,), metre, without).patterns()
    )


def _long_first(cells: Sequence[Cell], metre: Metre) -> list[Cell]:
    """Half a measure where that is a pulse or more, else the measure, else shorter."""
    aim = metre.measure / 2 if metre.pulses == 4 else metre.measure
    return sorted(cells, key=lambda cell: abs(cell.duration - aim))
