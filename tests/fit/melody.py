"""A melody as the fit sees it: sixteenths and scale steps, no key; of tunes and of exercises."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bot.music.exercise import Exercise

WHOLE = 16  # ticks in a whole note
NOTE = tuple[int, int, int]  # start, length, step above do


@dataclass(frozen=True, slots=True, kw_only=True)
class Melody:
    """Notes by start in ticks, length in ticks and step; rests are what lies between them.

    `measure` in ticks; the first full measure begins at `pickup`; `length` to the last barline.
    """

    measure: int
    length: int
    notes: tuple[NOTE, ...]
    pickup: int = 0
    beat: int = 4  # a dotted quarter, 6, in 6/8
    doubled: bool = False  # a tune in 2/4, written in twice its values

    @property
    def steps(self) -> tuple[int, ...]:
        """Scale steps above do in order."""
        return tuple(step for _, _, step in self.notes)

    def places(self) -> Iterator[tuple[int, int, int, int]]:
        """Yield (measure from 0, tick within it, length, step); a pickup lies in measure -1."""
        for start, length, step in self.notes:
            bar, tick = divmod(start - self.pickup, self.measure)
            yield bar, tick, length, step

    def bars(self) -> tuple[tuple[tuple[int, int, int], ...], ...]:
        """Each full measure as (tick, length, step); a note belongs to the measure it starts in."""
        count = (self.length - self.pickup) // self.measure
        rows: list[list[tuple[int, int, int]]] = [[] for _ in range(count)]
        for bar, tick, length, step in self.places():
            if 0 <= bar < count:
                rows[bar].append((tick, length, step))
        return tuple(tuple(row) for row in rows)


def melody_of(exercise: Exercise) -> Melody:
    """The top line of a diatonic exercise; ValueError where a note is not of whole sixteenths."""
    notes: list[NOTE] = []
    held = False
    for offset, note in exercise.parts[0].timed():
        start, length = offset * WHOLE, note.duration * WHOLE
        if start.denominator > 1 or length.denominator > 1:
            raise ValueError(f"{offset}: shorter than a sixteenth")
        if held:
            first, before, step = notes[-1]
            notes[-1] = (first, before + int(length), step)
        elif note.tone is not None:
            notes.append((int(start), int(length), note.tone.step))
        held = note.tied
    return Melody(
        measure=int(exercise.metre.measure * WHOLE), length=int(exercise.length * WHOLE),
        notes=tuple(notes), pickup=int(exercise.pickup * WHOLE),
        beat=6 if exercise.metre.compound else 4,
    )  # fmt: skip
