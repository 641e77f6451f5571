"""What stands at a staff's beginning in MusicXML: divisions, key, metre, clef, transposition."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from fractions import Fraction

from bot.music.pitch import LETTERS, Mode, Pitch
from bot.music.rhythm import Metre
from bot.music.voice import Clef
from bot.notation.faults import FaultList, Spot

_NUMBER = re.compile(r"-?\d{1,9}(\.\d{1,6})?")
_MODES = {"major": Mode.MAJOR, "ionian": Mode.MAJOR, "minor": Mode.MINOR, "aeolian": Mode.MINOR}
_NO_MODE = {"", "none"}
# Scale steps of an instrument's transposition where the file states its half steps alone.
_STEPS = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)
_MOST_FIFTHS = 7


def number(text: str | None) -> Fraction:
    """Read a plain decimal number; ValueError otherwise, also for one that is absurdly long."""
    text = (text or "").strip()
    if not _NUMBER.fullmatch(text):
        raise ValueError(f"{text[:20]!r} is no number")
    return Fraction(text)


@dataclass(frozen=True, slots=True, kw_only=True)
class Transposition:
    """From a written note to the sounding one, in scale steps and half steps."""

    steps: int = 0
    half_steps: int = 0

    def pitch(self, written: Pitch) -> Pitch:
        """Return the sounding pitch; ValueError where it has no sensible spelling."""
        octave, index = divmod(written.staff_step + self.steps, 7)
        natural = Pitch(letter=LETTERS[index], octave=octave)
        alter = written.midi + self.half_steps - natural.midi
        return Pitch(letter=natural.letter, alter=alter, octave=octave)

    def fifths(self, written: int) -> int:
        """Return the sounding key's sharps or flats."""
        return written + 7 * self.half_steps - 12 * self.steps


@dataclass(slots=True, kw_only=True)
class Signatures:
    """The signatures of one part as reading goes on; None for what has not been stated.

    `fifths` is the first sounding key's. `mode` None means that the file does not say. `metre` is
    the first one. `key_now` and `measure` are the key and the length of a measure as they stand.
    """

    divisions: Fraction | None = None
    transposition: Transposition = Transposition()
    fifths: int | None = None
    mode: Mode | None = None
    key_now: tuple[int, Mode | None] = (0, None)
    metre: Metre | None = None
    measure: Fraction = Fraction(1)
    clef: Clef | None = None

    def read(self, attributes: ET.Element, spot: Spot, faults: FaultList) -> None:
        """Take in an `<attributes>` element; what a reading cannot follow becomes a fault."""
        divisions = attributes.findtext("divisions")
        if divisions is not None:
            self.divisions = number(divisions)
        transpose = attributes.find("transpose")
        if transpose is not None:
            self.transposition = _transposition(transpose)
        for element in attributes.findall("key"):
            self._key(element, spot, faults)
        for element in attributes.findall("time"):
            self._time(element, spot, faults)
        for element in attributes.findall("clef"):
            self.clef = self.clef or _clef(element)

    def _key(self, element: ET.Element, spot: Spot, faults: FaultList) -> None:
        text = element.findtext("fifths")
        if text is None:
            faults.add(spot, "a key signature of its own kind", "use a major or a minor key")
            return
        fifths = self.transposition.fifths(int(number(text)))
        mode_name = (element.findtext("mode") or "").strip().lower()[:20]
        if abs(fifths) > _MOST_FIFTHS:
            faults.add(spot, f"a key of {abs(fifths)} sharps or flats", "at most seven")
        elif mode_name not in _NO_MODE and mode_name not in _MODES:
            faults.add(spot, f"a {mode_name} key", "a reading is in major or in minor")
        else:
            self._change_key(fifths, _MODES.get(mode_name), spot, faults)

    def _change_key(self, fifths: int, mode: Mode | None, spot: Spot, faults: FaultList) -> None:
        now_fifths, now_mode = self.key_now
        if self.fifths is None:
            self.fifths, self.mode = fifths, mode
        elif fifths != now_fifths or {mode, now_mode} == set(Mode):
            faults.add(spot, "the key changes", "cut the music into readings of one key each")
        self.key_now = fifths, mode or now_mode

    def _time(self, element: ET.Element, spot: Spot, faults: FaultList) -> None:
        beats, units = element.findall("beats"), element.findall("beat-type")
        figures = [(each.text or "").strip() for each in (*beats, *units)]
        if len(figures) != 2:
            faults.add(spot, "a meter of its own kind", "use one plain meter such as 4/4")
            return
        try:
            metre = Metre.parse("/".join(figures))
        except ValueError:
            faults.add(spot, f"the meter {'/'.join(figures)[:20]}", "use a meter such as 4/4, 6/8")
            return
        if element.get("symbol") == "cut" and metre == Metre(beats=2, unit=2):
            metre = Metre.parse("cut")
        if self.metre is not None and metre.measure != self.measure:
            faults.add(spot, "the meter changes", "cut the music into readings of one meter each")
        self.metre = self.metre or metre
        self.measure = metre.measure


def _transposition(element: ET.Element) -> Transposition:
    half_steps = int(number(element.findtext("chromatic") or "0"))
    diatonic = element.findtext("diatonic")
    octaves = int(number(element.findtext("octave-change") or "0"))
    if diatonic is not None:
        steps = int(number(diatonic))
    else:
        whole, rest = divmod(abs(half_steps), 12)
        steps = (7 * whole + _STEPS[rest]) * (1 if half_steps >= 0 else -1)
    return Transposition(steps=steps + 7 * octaves, half_steps=half_steps + 12 * octaves)


def _clef(element: ET.Element) -> Clef:
    """The nearest clef of ours; `<pitch>` is what sounds, so a clef never changes the notes."""
    if element.findtext("sign", "").strip() == "F":
        return Clef.BASS
    octaves = element.findtext("clef-octave-change", "0").strip()
    return Clef.TREBLE8 if octaves == "-1" else Clef.TREBLE
