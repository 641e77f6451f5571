"""The bars of an ABC voice: repeats unfolded, measures and ties checked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import takewhile

from bot.errors import Fault
from bot.music.pitch import Pitch
from bot.music.rhythm import Metre
from bot.music.spot import Spot


@dataclass(frozen=True, slots=True, kw_only=True)
class AbcNote:
    """A note, or a rest where `pitch` is None; `duration` in whole notes."""

    duration: Fraction
    spot: Spot
    pitch: Pitch | None = None
    tied: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """What stands between two bar lines.

    `opens` and `closes` say that a repeat begins and ends with it, `ending` the time that it is
    for, 1 or 2, 0 for both. `soft` means that the bar line after it is double or a repeat sign,
    which may cut a measure in two.
    """

    notes: tuple[AbcNote, ...]
    spot: Spot
    opens: bool = False
    closes: bool = False
    ending: int = 0
    soft: bool = False

    @property
    def length(self) -> Fraction:
        """Length in whole notes."""
        return sum((note.duration for note in self.notes), Fraction(0))


def unfolded(pieces: Sequence[Piece], faults: list[Fault]) -> list[Piece]:
    """Write out repeats, each played twice, with their first and second endings.

    A repeat without a beginning goes back to the last double bar or repeat sign, or to the start.
    """
    played: list[Piece] = []
    start = 0
    for index, piece in enumerate(pieces):
        before = pieces[index - 1] if index else None
        if piece.ending == 2 and (before is None or not (before.closes or before.ending == 2)):
            faults.append(piece.spot.fault("a second ending without a repeat", "write :|2"))
        start = index if piece.opens else start
        played.append(piece)
        if piece.closes and piece.ending < 2:
            played += takewhile(lambda each: each.ending != 1, pieces[start : index + 1])
            after = pieces[index + 1 : index + 2]
            if piece.ending == 1 and not (after and after[0].ending == 2):
                problem = "a first ending without a second"
                faults.append(piece.spot.fault(problem, "write :|2 after it"))
        start = index + 1 if piece.soft else start
    return played


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """The notes of a voice in the order in which they sound; `pickup` in whole notes."""

    notes: tuple[AbcNote, ...]
    pickup: Fraction

    @property
    def length(self) -> Fraction:
        """Length in whole notes."""
        return sum((note.duration for note in self.notes), Fraction(0))


def barred(pieces: Sequence[Piece], metre: Metre, faults: list[Fault]) -> Line:
    """Check that measures and ties add up; every one that does not is a fault, told once.

    A short first measure is a pickup, and the last one may then be short by as much.
    """
    told: dict[Spot, Fault] = {}
    pickup = filled = Fraction(0)
    begin = pieces[0].spot if pieces else Spot(line=1, column=1)
    for number, piece in enumerate(pieces):
        begin = begin if filled else piece.spot
        filled += piece.length
        last = number == len(pieces) - 1
        if number == 0 and not last and filled < metre.measure:
            pickup, filled = filled, Fraction(0)
        elif filled == metre.measure or (last and pickup and filled + pickup == metre.measure):
            filled = Fraction(0)
        elif last or not piece.soft or filled > metre.measure:
            told.setdefault(begin, _misfit(begin, filled, metre))
            filled = Fraction(0)
    faults += told.values()
    notes = tuple(note for piece in pieces for note in piece.notes)
    faults += dict.fromkeys(_loose_ties(notes))
    return Line(notes=notes, pickup=pickup)


def _misfit(spot: Spot, filled: Fraction, metre: Metre) -> Fault:
    unit = Fraction(1, metre.unit)
    needed = f"{metre} needs {metre.beats}"
    return spot.fault(f"this measure adds up to {_mixed(filled / unit)} beats of {unit}", needed)


def _mixed(number: Fraction) -> str:
    whole, rest = divmod(number, 1)
    return f"{whole or ''} {rest}".strip() if rest else str(whole)


def _loose_ties(notes: Sequence[AbcNote]) -> Iterator[Fault]:
    for note, after in zip(notes, (*notes[1:], None), strict=True):
        if note.tied and (after is None or after.pitch != note.pitch):
            problem = "a tie that leads to no note of the same pitch"
            yield note.spot.fault(problem, "take it out, or make it a slur with ( and )")
