"""What a line asks of its readers: for each track the lowest step that holds it, and why.

A line is taken apart into atoms (tones, skips, cells, metre, ties ...). Each atom has the first
step that brings it; the line needs the highest of those. What no step brings lies beyond.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise, zip_longest

from bot.music.cell import ties_of
from bot.music.exercise import Exercise, Note, Tone
from bot.music.sequence import Sequence, Step, Track
from bot.music.syllable import word_of
from bot.music.texture_found import texture_step
from bot.music.tiling import tile


class Kind(StrEnum):
    """Kinds of atoms; the value is the key of the sentence about one, with the gap what."""

    TONE = "need.tone"
    SKIP = "need.skip"
    MODE = "need.mode"
    METRE = "need.metre"
    CELL = "need.cell"
    PICKUP = "need.pickup"
    TIE = "need.tie"
    HELD = "need.held"
    BARLINE = "need.barline"
    PARTS = "need.parts"


@dataclass(frozen=True, slots=True, kw_only=True)
class Atom:
    """One thing to be read at one place; `step` is the step that brings it, None for none."""

    track: Track
    step: str | None
    kind: Kind
    what: str
    measure: int
    beat: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Needs:
    """The lowest steps that hold a line, and its atoms in the order of places.

    `pushing` are the atoms that push it up to these steps; what a track begins with pushes nothing.
    Where something is beyond the sequence, the steps are those of the rest.
    """

    pitch: str
    rhythm: str
    voice: str
    atoms: tuple[Atom, ...]
    pushing: tuple[Atom, ...]

    @property
    def beyond(self) -> tuple[Atom, ...]:
        """The atoms that no step of the sequence brings."""
        return tuple(atom for atom in self.atoms if atom.step is None)


def needs(exercise: Exercise, sequence: Sequence, part: int = 0) -> Needs:
    """Take one part of an exercise apart and find the lowest steps that hold it."""
    atoms = [
        *_whole(exercise, sequence),
        *_tones(exercise, sequence, part),
        *_ties(exercise, sequence, part),
        *_cells(exercise, sequence, part),
    ]
    atoms.sort(key=lambda atom: (atom.measure, atom.beat))

    def lowest(track: Track) -> str:
        needed = {atom.step for atom in atoms if atom.track is track and atom.step}
        order = [step.id for step in sequence.track(track)]
        return max((step for step in order if step in needed), key=order.index, default=order[0])

    top = [lowest(track) for track in (Track.PITCH, Track.RHYTHM, Track.VOICE)]
    first = [sequence.lowest(track).id for track in Track]
    return Needs(
        pitch=top[0],
        rhythm=top[1],
        voice=top[2],
        atoms=tuple(atoms),
        pushing=tuple(atom for atom in atoms if atom.step in top and atom.step not in first),
    )


def _whole(exercise: Exercise, sequence: Sequence) -> Iterator[Atom]:
    """What the whole line needs; it stands at the first note."""
    start = Fraction(0)
    metre = exercise.metre
    brings = [s.id for s in sequence.track(Track.RHYTHM) if s.element.metre == metre]
    yield _atom(exercise, start, Track.RHYTHM, brings, Kind.METRE, str(metre))
    mode = exercise.key.mode
    if mode is not sequence.conditions_at(sequence.lowest(Track.PITCH)).mode:
        brings = [s.id for s in sequence.track(Track.PITCH) if s.element.mode is mode]
        yield _atom(exercise, start, Track.PITCH, brings, Kind.MODE, str(exercise.key))
    if exercise.pickup:
        known = [(s.element.pickup, s.id) for s in sequence.track(Track.RHYTHM)]
        brings = [step for cell, step in known if cell and cell.duration == exercise.pickup]
        yield _atom(exercise, start, Track.RHYTHM, brings, Kind.PICKUP, str(exercise.pickup))
    if len(exercise.parts) > 1:
        step = texture_step(exercise, sequence)
        brings = [] if step is None else [step]
        yield _atom(exercise, start, Track.VOICE, brings, Kind.PARTS, str(len(exercise.parts)))


def _atom(
    exercise: Exercise, offset: Fraction, track: Track, brings: list[str], kind: Kind, what: str
) -> Atom:
    measure, beat = exercise.place(offset)
    step = brings[0] if brings else None
    return Atom(track=track, step=step, kind=kind, what=what, measure=measure, beat=beat)


def _tones(exercise: Exercise, sequence: Sequence, part: int) -> Iterator[Atom]:
    pitch = sequence.track(Track.PITCH)
    sung = list(_sung(exercise, part))
    for offset, tone in sung:
        brings = _bringing(pitch, tone)
        yield _atom(exercise, offset, Track.PITCH, brings, Kind.TONE, _word(tone))
    for (_, one), (offset, other) in pairwise(sung):
        if abs(one.step - other.step) < 2 or not (
            _bringing(pitch, one) and _bringing(pitch, other)
        ):
            continue
        skip = (min(one, other), max(one, other))
        brings = [step.id for step in pitch if skip in step.element.skips]
        what = f"{_word(one)}-{_word(other)}"
        yield _atom(exercise, offset, Track.PITCH, brings, Kind.SKIP, what)


def _bringing(pitch: tuple[Step, ...], tone: Tone) -> list[str]:
    return [s.id for s in pitch if tone in (*s.element.tones, *s.element.through)]


def _sung(exercise: Exercise, part: int) -> Iterator[tuple[Fraction, Tone]]:
    """Tones with their places, tied notes once."""
    held = False
    for offset, note in exercise.parts[part].timed():
        if note.tone is not None and not held:
            yield offset, note.tone
        held = note.tied


def _ties(exercise: Exercise, sequence: Sequence, part: int) -> Iterator[Atom]:
    rhythm = sequence.track(Track.RHYTHM)
    known = [(ties_of(cell.notes), step.id) for step in rhythm for cell in step.element.cells]
    timed = list(exercise.parts[part].timed())
    for (offset, note), (_, after) in zip_longest(timed, timed[1:], fillvalue=timed[-1]):
        tie = (note.duration, after.duration)
        behind = exercise.metre.measure - _start(exercise, offset) - note.duration
        if note.tied and not behind:
            brings = [s.id for s in rhythm if {each.duration for each in s.element.held} >= {*tie}]
            yield _atom(exercise, offset, Track.RHYTHM, brings, Kind.HELD, "")
        elif note.tied:
            brings = [step for ties, step in known if tie in ties]
            yield _atom(exercise, offset, Track.RHYTHM, brings, Kind.TIE, "")
        elif behind < 0:
            yield _atom(exercise, offset, Track.RHYTHM, [], Kind.BARLINE, "")


def _start(exercise: Exercise, offset: Fraction) -> Fraction:
    """Where in its measure an offset lies; a pickup is the end of a measure."""
    return (offset - exercise.pickup) % exercise.metre.measure


def _cells(exercise: Exercise, sequence: Sequence, part: int) -> Iterator[Atom]:
    rhythm = sequence.track(Track.RHYTHM)
    known = [(cell, number) for number, s in enumerate(rhythm) for cell in s.element.cells]
    measures: dict[int, list[tuple[Fraction, Note]]] = {}
    for offset, note in exercise.parts[part].timed():
        if _start(exercise, offset) + note.duration <= exercise.metre.measure:
            measures.setdefault(exercise.place(offset)[0], []).append((offset, note))
    for notes in measures.values():
        tiles = tile(
            [note for _, note in notes], _start(exercise, notes[0][0]), exercise.metre, known
        )
        for each in tiles:
            brings = [] if each.step is None else [rhythm[each.step].id]
            offset = notes[each.first][0]
            yield _atom(exercise, offset, Track.RHYTHM, brings, Kind.CELL, each.text)


def _word(tone: Tone) -> str:
    try:
        return word_of(tone)
    except ValueError:
        return word_of(Tone(step=tone.step)) + "♯" * tone.alter + "♭" * -tone.alter
