"""One part of a MusicXML score, measure by measure, with every fault that a reading cannot have."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import dataclass, field
from fractions import Fraction

from bot.music.pitch import Pitch
from bot.music.rhythm import Metre, note_value
from bot.notation.faults import FaultList, Spot
from bot.notation.signature import Signatures, number

_LONGEST_NUMBER = 12  # of a measure's number, which a file may write in any way
_SMALLEST = Fraction(1, 32)
_ONE_LINE = "leave one line of single notes in each staff"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartNote:
    """A note, or a rest where `pitch` is None: sounding pitch, lengths in whole notes.

    `onset` counts from the beginning of the measure.
    """

    onset: Fraction
    duration: Fraction
    pitch: Pitch | None
    tied: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PartMeasure:
    """A measure as the file has it, `length` in whole notes, `due` what its metre asks for.

    `number` is what the file calls it, `count` its place in the part from 1.
    """

    number: str
    count: int
    length: Fraction
    due: Fraction
    notes: tuple[PartNote, ...]


@dataclass(slots=True, kw_only=True)
class PartReader:
    """Reads one part; `label` is empty in a score of one part."""

    label: str
    faults: FaultList
    signatures: Signatures = field(default_factory=Signatures)
    _measure: str = ""
    _count: int = 0
    _onset: Fraction = Fraction(0)
    _at: Fraction = Fraction(0)
    _end: Fraction = Fraction(0)
    _voices: dict[tuple[str, str], list[PartNote]] = field(default_factory=dict)

    def measures(self, part: ET.Element) -> tuple[PartMeasure, ...]:
        """Read all measures of a `<part>`."""
        return tuple(
            self._read(element, count)
            for count, element in enumerate(part.findall("measure"), start=1)
        )

    def _read(self, measure: ET.Element, count: int) -> PartMeasure:
        self._count = count
        self._measure = (measure.get("number") or str(count))[:_LONGEST_NUMBER]
        self._onset = self._at = self._end = Fraction(0)
        self._voices = {}
        for child in measure:
            try:
                self._element(child)
            except ValueError as error:
                self._fault(f"this is not valid MusicXML: {error}", "save the file again")
        return PartMeasure(
            number=self._measure,
            count=count,
            length=self._end,
            due=self.signatures.measure,
            notes=self._one_line(),
        )

    def _element(self, element: ET.Element) -> None:
        match element.tag:
            case "attributes":
                self.signatures.read(element, self._spot(), self.faults)
            case "note":
                self._note(element)
            case "backup":
                self._move(-self._length(element))
            case "forward":
                length = self._length(element)
                if length % _SMALLEST:
                    self._fault(f"a gap of {length} whole notes", "write its rests out")
                self._move(length)
            case "barline" if element.find("ending") is not None:
                self._fault("a first or second ending", "write the music out without endings")

    def _note(self, element: ET.Element) -> None:
        if element.find("grace") is not None:
            self._fault("a grace note", "leave it out: a reading has measured notes only")
            return
        if element.find("chord") is not None:
            self._fault("a chord", _ONE_LINE, at=self._onset)
            return
        duration = self._length(element)
        self._onset = self._at
        if element.find("cue") is not None or element.find("unpitched") is not None:
            self._fault("a cue or a drum note", "leave it out: every note is sung")
        elif element.find("time-modification") is not None:
            self._fault("a tuplet", "use values that divide by two, or 6/8")
        elif not _can_be_written(element, duration):
            self._fault(
                f"a length of {duration} whole notes", "use a whole note to a 32nd, or a tie"
            )
        key = (element.findtext("staff", "1"), element.findtext("voice", "1"))
        self._voices.setdefault(key, []).append(
            PartNote(
                onset=self._at,
                duration=duration,
                pitch=self._pitch(element),
                tied=_begins_tie(element),
            )
        )
        self._move(duration)

    def _pitch(self, element: ET.Element) -> Pitch | None:
        written = element.find("pitch")
        if written is None:
            return None
        alter = number(written.findtext("alter", "0"))
        if alter.denominator != 1:
            self._fault("a quarter tone", "use whole sharps and flats")
        return self.signatures.transposition.pitch(
            Pitch(
                letter=written.findtext("step", "").strip()[:2],
                alter=int(alter),
                octave=int(number(written.findtext("octave"))),
            )
        )

    def _length(self, element: ET.Element) -> Fraction:
        divisions = self.signatures.divisions
        duration = number(element.findtext("duration"))
        if not divisions or divisions < 0 or duration <= 0:
            raise ValueError(f"a duration of {duration} in divisions of {divisions}")
        return duration / divisions / 4

    def _move(self, length: Fraction) -> None:
        self._at = max(self._at + length, Fraction(0))
        self._end = max(self._end, self._at)

    def _one_line(self) -> tuple[PartNote, ...]:
        """Return the one voice of the measure that sounds, gaps filled with rests."""
        sounding = {k: v for k, v in self._voices.items() if any(note.pitch for note in v)}
        if len(sounding) > 1:
            second = next(note for note in list(sounding.values())[1] if note.pitch)
            staves = {staff for staff, _ in sounding}
            kind = "voices in one staff" if len(staves) == 1 else "staves in one part"
            self._fault(f"several {kind}", _ONE_LINE, at=second.onset)
        notes = next(iter((sounding or self._voices).values()), [])
        line: list[PartNote] = []
        at = Fraction(0)
        for note in notes:
            if note.onset < at:
                self._fault("notes of one voice overlap", _ONE_LINE, at=note.onset)
                continue
            line += _rest(at, note.onset)
            line.append(note)
            at = note.onset + note.duration
        return (*line, *_rest(at, self._end))

    def _spot(self, at: Fraction | None = None) -> Spot:
        pulse = (self.signatures.metre or Metre()).pulse
        beat = (self._at if at is None else at) / pulse + 1
        return Spot(part=self.label, measure=self._measure, count=self._count, beat=beat)

    def _fault(self, problem: str, remedy: str, at: Fraction | None = None) -> None:
        self.faults.add(self._spot(at), problem, remedy)


def _can_be_written(element: ET.Element, duration: Fraction) -> bool:
    """Whether one note value writes it; a rest may last anything, since it can be cut."""
    is_rest = element.find("rest") is not None
    return duration % _SMALLEST == 0 and (is_rest or note_value(duration) is not None)


def _begins_tie(element: ET.Element) -> bool:
    ties = [*element.iter("tie"), *element.iter("tied")]
    return any(tie.get("type") == "start" for tie in ties)


def _rest(start: Fraction, end: Fraction) -> list[PartNote]:
    return [PartNote(onset=start, duration=end - start, pitch=None)] if end > start else []
