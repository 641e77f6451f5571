"""The order of steps as values: tracks, what each step adds, what lines of a sequence keep to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from bot.errors import Fault, InputProblems
from bot.music.cell import Cell
from bot.music.exercise import Tone
from bot.music.pitch import Key, Mode
from bot.music.rhythm import Metre

Skip = tuple[Tone, Tone]  # the lower tone first


class Track(StrEnum):
    """The three orders in which a choir advances, each at its own pace."""

    PITCH = "pitch"
    RHYTHM = "rhythm"
    VOICE = "voice"


class Kind(StrEnum):
    """What one step adds: exactly one of these."""

    TONES = "tones"  # where the pitch track begins
    TONE = "tone"  # one tone, by step or by the skip that is named
    SKIP = "skip"  # one skip between tones that are known
    CHORD = "chord"  # the thirds of one chord
    INTERVALS = "intervals"  # every skip of a size
    MODE = "mode"  # lines in minor, with the tones that are known
    CELLS = "cells"  # one rhythm cell, or the two orders of one; the first step has its two
    METRE = "metre"  # a metre, the note that fills its measure, that of its beat if it is new
    PICKUP = "pickup"  # a note before the first beat of each phrase
    HELD = "held"  # notes that are held over a bar line
    TEXTURE = "texture"  # a way of singing together


class Climax(StrEnum):
    """What becomes of the top tone of a line."""

    ANY = "any"  # it is sung once or more often
    ONCE = "once"  # once, and neither as the first note nor as the last: one high point


class Interval(StrEnum):
    """A skip by its size; those that lines may have."""

    THIRD = "third"
    FOURTH = "fourth"
    FIFTH = "fifth"
    SIXTH = "sixth"
    OCTAVE = "octave"

    @property
    def steps(self) -> int:
        """Its size in scale steps."""
        return _STEPS[self]


_STEPS = {
    Interval.THIRD: 2, Interval.FOURTH: 3, Interval.FIFTH: 4, Interval.SIXTH: 5, Interval.OCTAVE: 7,
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Element:
    """The one thing that a step adds, resolved to tones, skips, cells, metre.

    `through` are octaves of degrees that are known, needed to reach the new tone.
    """

    kind: Kind
    tones: tuple[Tone, ...] = ()
    through: tuple[Tone, ...] = ()
    skips: tuple[Skip, ...] = ()
    cells: tuple[Cell, ...] = ()
    metre: Metre | None = None
    texture: str | None = None
    mode: Mode | None = None
    pickup: Cell | None = None
    held: tuple[Cell, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A stage of one track. `focus` is how often eight measures have the new element at least.

    `requires` are steps of other tracks without which this one makes no music. `apart`: it comes in
    two measures at least, of eight in both halves.
    """

    id: str
    track: Track
    name: str
    element: Element
    focus: int
    requires: tuple[str, ...] = ()
    apart: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """What lines keep to from a pitch step on, until later conditions say otherwise.

    `measures` pairs a length with how often it comes where nobody asks for one. `without` are tones
    that were learnt and do not come in these lines; `upbeat` are tones beside `start` for a pickup.
    `peak` is how far above `end` the one high point is at least, where lines have one; with tones
    that do not get so high they need have none.
    """

    start: tuple[Tone, ...]
    half_cadence: tuple[Tone, ...]
    cadence: tuple[Tone, ...]
    end: Tone
    measures: tuple[tuple[int, int], ...]
    mode: Mode = Mode.MAJOR
    without: tuple[Tone, ...] = ()
    upbeat: tuple[Tone, ...] = ()
    climax: Climax = Climax.ANY
    peak: Interval | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """Which measures share a rhythm: one letter a measure, the same letter for the same rhythm.

    The first `copied` measures of the second half may also be those of the first, note for note.
    """

    letters: str
    weight: int
    copied: int = 0

    @property
    def measures(self) -> int:
        """Number of measures."""
        return len(self.letters)

    @property
    def free(self) -> bool:
        """Whether every measure has a rhythm of its own to choose."""
        return len(set(self.letters)) == len(self.letters)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """Limits for every line of a sequence.

    `equal_notes`: a tone at most so often in a row. `same_cell`: a cell at most so often in a row.
    `colours`: kinds of cells that are not plain, beside the newest one, in one line at most.
    `free_leaps`: leaps need not turn back, nor two skips one way spell a triad. `free_cells`: one
    cell may fill any measure, as in words and in parts that hold on; else it fills no even one
    inside a phrase, unless it is one of two beats. `free_measures`: that, and a phrase may end with
    any note. Folk song is as free. `from_sixteenths`: how far a line goes at most from a note
    shorter than an eighth to the next of its phrase, None for any skip.
    """

    equal_notes: int
    same_cell: int
    colours: int
    free_leaps: bool = False
    free_cells: bool = False
    free_measures: bool = False
    from_sixteenths: Interval | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyOrder:
    """Keys in order of preference: for unchanged voices, for lower ones, for both in one room."""

    treble: tuple[Key, ...]
    low: tuple[Key, ...]
    mixed: tuple[Key, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sequence:
    """An order of steps with all that a line needs to know; read by `parse_sequence`.

    `conditions` and `forms` pair the pitch step from which each holds with what holds. `keys` has
    an order for each mode that a step is in.
    """

    id: str
    title: str
    steps: tuple[Step, ...]
    keys: Mapping[Mode, KeyOrder]
    rules: Rules
    metres: tuple[tuple[Metre, int], ...]
    conditions: tuple[tuple[str, Conditions], ...]
    forms: tuple[tuple[str, Form], ...]

    def step(self, step_id: str) -> Step:
        """The step of an id; InputProblems names the ids that there are."""
        for step in self.steps:
            if step.id == step_id:
                return step
        known = ", ".join(step.id for step in self.steps)
        fault = Fault(place=step_id, problem="no such step", remedy=f"one of {known}")
        raise InputProblems([fault])

    def track(self, track: Track) -> tuple[Step, ...]:
        """The steps of one track in order."""
        return tuple(step for step in self.steps if step.track is track)

    def conditions_at(self, pitch_step: Step) -> Conditions:
        """What lines of a pitch step keep to."""
        reached = {step.id for step in self.up_to(pitch_step)}
        return [held for start, held in self.conditions if start in reached][-1]

    def lowest(self, track: Track) -> Step:
        """The first step of a track."""
        return self.track(track)[0]

    def up_to(self, step: Step) -> tuple[Step, ...]:
        """The steps of its track from the first to this one."""
        track = self.track(step.track)
        return track[: track.index(step) + 1]
