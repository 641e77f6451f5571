"""The music itself: notes by scale step, parts, exercise. Frozen, checked when made."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from bot.music.pitch import Key, Pitch
from bot.music.rhythm import Metre, place


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Tone:
    """A place in the scale: `step` scale steps above do (-3 is low so, 7 is high do).

    `alter` counts semitones away from the key's own pitch on that step (fi is step 3, alter 1).
    """

    step: int
    alter: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A note, or a rest where `tone` is None; `duration` in whole notes.

    `tied` binds the note to the next one of the same tone.
    """

    duration: Fraction
    tone: Tone | None = None
    tied: bool = False

    def __post_init__(self) -> None:
        if self.duration <= 0:
            raise ValueError(f"a note of {self.duration} whole notes: it must last longer than 0")
        if self.tied and self.tone is None:
            raise ValueError("a rest cannot be tied")


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One line. Its do lies in octave `do_octave` (scientific), so pitches follow from the key.

    `words` has the text under each note that is struck, a hyphen behind it where the word goes on;
    empty where the line has none.
    """

    notes: tuple[Note, ...]
    do_octave: int = 4
    words: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.words and len(self.words) != len(self.tones()):
            raise ValueError(f"{len(self.words)} syllables under {len(self.tones())} notes")

    def wordless(self, notes: tuple[Note, ...]) -> Part:
        """Other notes in the same octave, without words."""
        return replace(self, notes=notes, words=())

    @property
    def length(self) -> Fraction:
        """Length in whole notes."""
        return sum((note.duration for note in self.notes), Fraction(0))

    def timed(self) -> Iterator[tuple[Fraction, Note]]:
        """Yield (offset in whole notes, note)."""
        offset = Fraction(0)
        for note in self.notes:
            yield offset, note
            offset += note.duration

    def tones(self) -> tuple[Tone, ...]:
        """All tones in order, rests left out, tied notes once each."""
        sung, held = [], False
        for note in self.notes:
            if note.tone is not None and not held:
                sung.append(note.tone)
            held = note.tied
        return tuple(sung)


@dataclass(frozen=True, slots=True, kw_only=True)
class Exercise:
    """One to three parts of equal length in one key and metre, highest part first.

    `pickup` is the length of an opening short measure in whole notes, 0 for none.
    """

    key: Key
    metre: Metre
    parts: tuple[Part, ...]
    pickup: Fraction = Fraction(0)

    def __post_init__(self) -> None:
        if not self.parts:
            raise ValueError("an exercise has at least one part")
        if not all(part.notes for part in self.parts):
            raise ValueError("every part has at least one note")
        if len({part.length for part in self.parts}) > 1:
            raise ValueError("all parts of an exercise have the same length")
        if not 0 <= self.pickup < self.metre.measure:
            raise ValueError(f"a pickup of {self.pickup} does not fit a measure of {self.metre}")

    @property
    def length(self) -> Fraction:
        """Length in whole notes."""
        return self.parts[0].length

    @property
    def measures(self) -> int:
        """Number of measures; a pickup is not counted, a short last measure is."""
        return -int(-(self.length - self.pickup) // self.metre.measure)

    def pitch(self, tone: Tone, part: int = 0) -> Pitch:
        """Spell a tone of a part in this key."""
        return self.key.pitch(tone.step, tone.alter, self.parts[part].do_octave)

    def pitches(self, part: int = 0) -> tuple[Pitch, ...]:
        """Spelled pitches of a part in order, rests left out, tied notes once."""
        return tuple(self.pitch(tone, part) for tone in self.parts[part].tones())

    def first_pitch(self, part: int = 0) -> Pitch:
        """The starting pitch of a part; ValueError for a part of rests only."""
        for note in self.parts[part].notes:
            if note.tone is not None:
                return self.pitch(note.tone, part)
        raise ValueError(f"part {part + 1} has no note")

    def place(self, offset: Fraction) -> tuple[int, Fraction]:
        """(measure, beat) of an offset, as musicians count."""
        return place(offset, self.metre, self.pickup)

    def in_key(self, key: Key, do_octaves: tuple[int, ...]) -> Exercise:
        """Return the same exercise in another key, each part's do in the octave named."""
        parts = tuple(
            replace(part, do_octave=octave)
            for part, octave in zip(self.parts, do_octaves, strict=True)
        )
        return replace(self, key=key, parts=parts)

    def fingerprint(self) -> str:
        """Identity of what is read: degrees, durations, metre, mode; no key and no octave.

        Two exercises with one fingerprint are the same exercise (32 hex digits, stable over
        releases: a choir's history depends on it).
        """
        rows = [f"{self.metre}|{self.key.mode.value}|{self.pickup}"]
        for part in self.parts:
            low = part.do_octave - self.parts[0].do_octave
            rows.append(f"{low}:" + " ".join(_token(note) for note in part.notes))
        return hashlib.sha256("\n".join(rows).encode()).hexdigest()[:32]


def _token(note: Note) -> str:
    tone = "r" if note.tone is None else f"{note.tone.step},{note.tone.alter}"
    return f"{tone}:{note.duration}{'~' if note.tied else ''}"
