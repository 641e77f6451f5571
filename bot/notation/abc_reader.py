"""ABC read line by line and sign by sign: what the header says, and the bars of every voice."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction

from bot.errors import Fault
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.spot import Spot
from bot.notation.abc_field import octaves_of, read_key, read_metre, read_unit, usual_unit
from bot.notation.abc_voice import Voice

MOST_MEASURES = 128
_SMALLEST = Fraction(1, 32)
_FIELD = re.compile(r"([A-Za-z+]):(?!\|)(.*)")
_SIGNS = re.compile(
    r"""
    (?P<skip>\s+|%.*|"[^"]*"|![^!|]+!|\+[^+|\s]+\+|\{[^}]*\}
        |[`\\$!)~.HLMOPSTuv]|\((?!\d)|y\d*)
    |(?P<field>\[(?P<name>[A-Za-z]):(?P<value>[^\]]*)\])
    |(?P<bar>(?P<before>:*)(?:\[\||\|\]|\|+\]?)(?P<after>:*)|::+)
    |(?:\[(?=\d)|(?<=\|)(?=\d))(?P<ending>\d[\d,-]*)
    |(?P<note>(?P<accidental>\^\^|\^|__|_|=)?(?P<letter>[A-Ga-g])(?P<marks>[,']*)|[zx])
        (?P<length>\d{0,3}/{0,5}\d{0,3})
    |[ZX](?P<measures>\d{0,3})
    |(?P<tie>-)
    |(?P<broken>>{1,3}|<{1,3})
    |(?P<tuplet>\(\d(?::\d?){0,2})
    |(?P<chord>\[[^\]|]*\]?[\d/]*)
    |(?P<overlay>&)
    """,
    re.VERBOSE,
)
_LENGTH = re.compile(r"(\d*)(/*)(\d*)")
_UNREAD = {
    "tuplet": ("a triplet or other tuplet", "a reading divides beats in two and four"),
    "chord": ("a chord", "write parts as voices V:1, V:2"),
    "overlay": ("two voices in one line (&)", "write parts as voices V:1, V:2"),
}


@dataclass(slots=True, kw_only=True)
class Reader:
    """Where reading has come to: what the header said, and the voices so far.

    `sung` is the number of the last line of music, under which words stand.
    """

    faults: list[Fault]
    key: Key | None = None
    metre: Metre | None = None
    unit: Fraction | None = None
    octaves: int = 0
    tunes: int = 0
    strayed: bool = False
    moved: dict[str, int] = field(default_factory=dict)
    voices: dict[str, Voice] = field(default_factory=dict)
    now: str = ""
    sung: int = 0

    def line(self, line: str, number: int) -> None:
        """Take in a line."""
        spot = Spot(line=number, column=1)
        found = _FIELD.match(line)
        if line.startswith("%") or self.tunes > 1 or not line.strip():
            return
        if found is not None:
            self._field(found[1], found[2].partition("%")[0], spot)
        elif self.key is not None:
            self._music(line, number)
        elif not self.strayed:
            self.strayed = True
            self.faults.append(spot.fault("notes before K:", "the header ends with K:, as K:F"))

    def _field(self, name: str, text: str, spot: Spot) -> None:
        match name:
            case "X":
                self.tunes += 1
                if self.tunes > 1:
                    self.faults.append(spot.fault("a second tune", "one tune at a time"))
            case "M":
                self._stated(lambda: self._metre(text, spot), spot)
            case "L":
                self._stated(lambda: self._unit(text), spot)
            case "K":
                self._stated(lambda: self._key(text, spot), spot)
            case "V":
                self._voice(text)
            case "P" if self.key is None and text.strip():
                self.faults.append(spot.fault("an order of sections (P:)", "write them out"))
            case "w" if self.sung:
                self._now().words(text, self.sung)
            case "m":
                self.faults.append(spot.fault("a macro (m:)", "write the notes out"))
            case _:
                pass

    def _stated(self, read: Callable[[], None], spot: Spot) -> None:
        try:
            read()
        except ValueError as error:
            self.faults.append(spot.fault(str(error)))

    def _metre(self, text: str, spot: Spot) -> None:
        metre = read_metre(text)
        if self.key is not None and metre != self.metre:
            remedy = "one meter a tune, stated before K:"
            self.faults.append(spot.fault("the meter changes", remedy))
        self.metre = self.metre or metre

    def _unit(self, text: str) -> None:
        unit = read_unit(text)
        if self.key is None:
            self.unit = unit
        else:
            self._now().unit = unit

    def _key(self, text: str, spot: Spot) -> None:
        first, self.key = self.key, self.key or Key(fifths=0)
        if first is None and self.metre is None:
            remedy = "write for example M:4/4 before K:"
            self.faults.append(spot.fault("no meter is stated", remedy))
            self.metre = Metre()
        read = read_key(text)
        if first is None:
            self.key, self.octaves = read.key, read.octaves
        elif read.key != first:
            self.faults.append(spot.fault("the key changes", "one key a tune"))

    def _voice(self, text: str) -> None:
        name, _, properties = text.strip().partition(" ")
        self.moved.setdefault(name, octaves_of(properties))
        if self.key is not None:
            self.now = name

    def _now(self) -> Voice:
        """Return the voice that is being read; a tune may do without naming one."""
        name = self.now or next(iter(self.moved), "")
        if name not in self.voices:
            metre = self.metre or Metre()
            self.voices[name] = Voice(
                key=self.key or Key(fifths=0),
                metre=metre,
                unit=self.unit or usual_unit(metre),
                faults=self.faults,
                octaves=self.octaves + self.moved.get(name, 0),
            )
        return self.voices[name]

    def in_order(self) -> list[Voice]:
        """Return the voices that have notes, as they were declared."""
        names = [*self.moved, *(name for name in self.voices if name not in self.moved)]
        return [self.voices[name] for name in names if name in self.voices]

    def _music(self, line: str, number: int) -> None:
        at, self.sung = 0, number
        while at < len(line):
            spot = Spot(line=number, column=at + 1)
            sign = _SIGNS.match(line, at)
            if sign is None:
                remedy = "notes are C to B and c to b, rests z, bar lines |"
                self._now().spoil(spot.fault(f"{line[at]!r} means nothing here", remedy))
                at += 1
                continue
            self._sign(sign, spot)
            at = sign.end()
        self._now().line_end(Spot(line=number, column=len(line) + 1))

    def _sign(self, sign: re.Match[str], spot: Spot) -> None:
        match sign.lastgroup:
            case "skip":
                pass
            case "field":
                self._field(sign["name"], sign["value"], spot)
            case "times":
                self._ending(sign["times"], spot)
            case "bar":
                self._bar(sign, spot)
            case "ending":
                self._ending(sign["ending"], spot)
            case "length":
                self._note(sign, spot)
            case "measures":
                count = int(sign["measures"] or 1)
                self._now().measure_rests(min(max(count, 1), MOST_MEASURES + 1), spot)
            case "tie":
                self._now().tie(spot)
            case "broken":
                self._now().broken(sign["broken"], spot)
            case _:
                problem, remedy = _UNREAD[sign.lastgroup or ""]
                self._now().spoil(spot.fault(problem, remedy))

    def _bar(self, sign: re.Match[str], spot: Spot) -> None:
        voice, text = self._now(), sign["bar"]
        double = text.startswith("::")
        closes = double or bool(sign["before"])
        voice.bar(spot, closes=closes, soft=text != "|")
        if double or sign["after"]:
            voice.opening()

    def _ending(self, times: str, spot: Spot) -> None:
        if times in ("1", "2"):
            self._now().ending(int(times))
        else:
            problem = f"an ending for the times {times}"
            self.faults.append(spot.fault(problem, "two endings, |1 and |2"))

    def _note(self, sign: re.Match[str], spot: Spot) -> None:
        voice = self._now()
        length = _length(sign["length"])
        if length is None or (length * voice.unit) % _SMALLEST:
            problem = f"the length {sign['length']!r}"
            voice.spoil(spot.fault(problem, "write for example c2, c/2 or c3/2"))
        elif sign["letter"]:
            voice.note(sign["accidental"] or "", sign["letter"], sign["marks"], length, spot)
        else:
            voice.rest(length, spot)


def _length(text: str) -> Fraction | None:
    """Read `2`, `/`, `//` or `3/2`, in unit lengths; None where it is no length."""
    match = _LENGTH.fullmatch(text)
    assert match is not None
    above, strokes, below = match.groups()
    if (below and len(strokes) > 1) or "0" in (above, below):
        return None
    under = int(below) if below else 2 ** len(strokes)
    return Fraction(int(above or 1), under) if under and int(above or 1) else None
