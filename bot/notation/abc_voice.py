"""One voice of ABC as it is read, sign by sign, into bars."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction

from bot.errors import Fault
from bot.music.pitch import Key, Pitch
from bot.music.rhythm import Metre
from bot.music.spot import Spot
from bot.notation.abc_piece import AbcNote, Piece
from bot.notation.abc_words import texts_of

_ENOUGH = 1000  # bars; far more than any reading may have
_ALTERS = {"^^": 2, "^": 1, "=": 0, "_": -1, "__": -2}


@dataclass(slots=True, kw_only=True)
class Voice:
    """A voice and where reading has come to.

    `unit` is the length that a letter alone has; `octaves` moves its notes. An accidental holds to
    the end of the bar, for its letter in every octave (standard 2.1, section 11.3). `texts` has the
    words by the places of the notes under which they stand.
    """

    key: Key
    metre: Metre
    unit: Fraction
    faults: list[Fault]
    octaves: int = 0
    pieces: list[Piece] = field(default_factory=list)
    texts: dict[Spot, str] = field(default_factory=dict)
    _notes: list[AbcNote] = field(default_factory=list)
    _altered: dict[str, int] = field(default_factory=dict)
    _broken: Fraction | None = None
    _opens: bool = False
    _ending: int = 0
    _bad: bool = False

    def note(self, accidental: str, letter: str, marks: str, length: Fraction, spot: Spot) -> None:
        """Add a note: `letter` lower case from C5 up, `marks` of `'` up and `,` down."""
        octave = 4 + letter.islower() + marks.count("'") - marks.count(",") + self.octaves
        name = letter.upper()
        if accidental:
            self._altered[name] = _ALTERS[accidental]
        alter = self._altered.get(name, self._usual(name))
        held = self._notes[-1:] or (self.pieces[-1].notes[-1:] if self.pieces else ())
        for before in held:
            if before.tied and before.pitch is not None and not accidental and not self._notes:
                same = (before.pitch.letter, before.pitch.octave) == (name, octave)
                alter = before.pitch.alter if same else alter
        self._add(Pitch(letter=name, alter=alter, octave=octave), length, spot)

    def _usual(self, name: str) -> int:
        scale = (self.key.pitch(step, 0, 4) for step in range(7))
        return next(pitch.alter for pitch in scale if pitch.letter == name)

    def rest(self, length: Fraction, spot: Spot) -> None:
        """Add a rest of `length` units."""
        self._add(None, length, spot)

    def measure_rests(self, count: int, spot: Spot) -> None:
        """Add rests that fill measures; no more where there are too many already."""
        for _ in range(count - 1 if len(self.pieces) < _ENOUGH else 0):
            self._notes.append(AbcNote(duration=self.metre.measure, spot=spot))
            self.bar(spot)
        self._notes.append(AbcNote(duration=self.metre.measure, spot=spot))

    def _add(self, pitch: Pitch | None, length: Fraction, spot: Spot) -> None:
        duration = length * self.unit * (self._broken or 1)
        self._broken = None
        self._notes.append(AbcNote(duration=duration, spot=spot, pitch=pitch))

    def tie(self, spot: Spot) -> None:
        """Tie the note before."""
        if self._notes and self._notes[-1].pitch is not None:
            self._notes[-1] = replace(self._notes[-1], tied=True)
        else:
            self.faults.append(spot.fault("a tie with no note before it", "take it out"))

    def broken(self, signs: str, spot: Spot) -> None:
        """Lengthen the note before and shorten the next (`>`), or the other way round (`<`)."""
        if not self._notes or self._broken is not None:
            self.faults.append(spot.fault(f"{signs} with no note before it", "take it out"))
            return
        short = Fraction(1, 2 ** len(signs))
        before, after = (2 - short, short) if signs[0] == ">" else (short, 2 - short)
        self._notes[-1] = replace(self._notes[-1], duration=self._notes[-1].duration * before)
        self._broken = after

    def spoil(self, fault: Fault) -> None:
        """Note a sign that cannot be read; whether its measure adds up is not asked then."""
        self.faults.append(fault)
        self._bad = True

    def bar(self, spot: Spot, *, closes: bool = False, soft: bool = False) -> None:
        """End a bar; `closes` ends a repeat."""
        self._altered.clear()
        if self._broken is not None:
            self.faults.append(spot.fault("a bar line after > or <", "a note follows them"))
            self._broken = None
        if self._bad:
            # A bar with a sign that could not be read counts as full, so that it is told only once.
            self._notes = [AbcNote(duration=self.metre.measure, spot=spot)]
        if self._notes:
            notes = tuple(self._notes)
            self.pieces.append(
                Piece(
                    notes=notes,
                    spot=notes[0].spot,
                    opens=self._opens,
                    closes=closes,
                    ending=self._ending,
                    soft=soft,
                )
            )
            self._opens, self._bad = False, False
            self._notes.clear()
            self._ending = 0 if soft else self._ending
        elif self.pieces and (closes or soft):
            last = self.pieces[-1]
            self.pieces[-1] = replace(last, closes=last.closes or closes, soft=last.soft or soft)

    def opening(self) -> None:
        """Begin a repeat with the next bar."""
        self._opens = True

    def ending(self, number: int) -> None:
        """Begin the ending of that number; it ends at a double bar or a repeat sign."""
        self._ending = number

    def finished(self) -> bool:
        """End the last bar; whether the voice has any."""
        if self._notes:
            self.bar(self._notes[0].spot)
        return bool(self.pieces)

    def line_end(self, spot: Spot) -> None:
        """End a bar at the end of a line where the measure is just full, as many files do."""
        if sum((note.duration for note in self._notes), Fraction(0)) == self.metre.measure:
            self.bar(spot)

    def words(self, line: str, number: int) -> None:
        """Set words under the notes of line `number`; a second verse is left out."""
        bars = [piece.notes for piece in self.pieces] + [tuple(self._notes)]
        inside = [[note for note in bar if note.spot.line == number] for bar in bars]
        sung = [bar for bar in inside if bar]
        if not any(note.spot in self.texts for bar in sung for note in bar):
            self.texts |= {note.spot: text for note, text in texts_of(line, sung)}
