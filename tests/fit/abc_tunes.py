"""A lean reader of the tune files that music21 installs: one line of music.

The tunes are written in major keys, those in minor with accidentals, which count up to the bar. It
gives up on a tune (returns the reason) rather than guess: chords, tuplets, voices, changes of key
or metre. The program's own reader for a director's files is stricter and tells every fault.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

UNIT = 32  # ticks in a whole note
_STEPS = {letter: index for index, letter in enumerate("CDEFGAB")}
_FIFTHS = "FCGDAEB"
_SIGNS = {"^": 1, "=": 0, "_": -1}
_FIELD = re.compile(r"^[A-Za-z+]:")
_DROPPED = re.compile(r'"[^"]*"|\{[^}]*\}|![^!]*!|[~.TuvHJLMOPRS](?=[\^_=A-Ga-g])|[()](?!\d)')
_TOKEN = re.compile(
    r"(?P<bar>:?\|[\]|:]*|::)(?P<ending>\s*\[?[12])?|(?P<broken>[<>]+)"
    r"|(?P<note>[\^_=]*[A-Ga-gzx])(?P<octave>[,']*)(?P<length>\d*/*\d*)(?P<tie>-?)"
    r"|(?P<space>[\s\\`*$]+)|(?P<other>.)"
)
_KEY = re.compile(r"^([A-G])([b#]?)\s*(maj|major|ion)?(?!\w)", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sung:
    """A note of a tune in ticks; `step` counts letters above C0, None for a rest.

    `alter` is how far it is raised above its step in the written key.
    """

    start: int
    length: int
    step: int | None
    alter: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Tune:
    """One tune: `measure` and note times in ticks, the first full measure begins at `pickup`.

    `signs` says whether any accidental is written.
    """

    name: str
    title: str
    metre: str
    measure: int
    pickup: int
    tonic: int
    notes: tuple[Sung, ...]
    phrase_ends: tuple[int, ...]
    signs: bool = False


def tunes_of(path: Path) -> Iterator[Tune | str]:
    """Read every tune of a file; a tune that is left out comes as the reason."""
    text = path.read_text(encoding="utf-8", errors="replace")
    for number, block in enumerate(re.split(r"(?m)^(?=X:)", text)[1:]):
        try:
            yield _tune(block, f"{path.stem}-{number}")
        except ValueError as reason:
            yield str(reason)


def _tune(block: str, name: str) -> Tune:
    fields: dict[str, str] = {}
    body: list[str] = []
    for raw in block.splitlines():
        line = raw.split("%")[0].rstrip()
        if _FIELD.match(line):
            _take_field(line, fields, begun=bool(body))
        elif line.strip() and "K" in fields:
            body.append(line)
        elif not line.strip() and body:
            break
    metre = {"C": "4/4", "C|": "4/4", "2/2": "4/4"}.get(fields.get("M", ""), fields.get("M", ""))
    if metre not in ("2/4", "3/4", "4/4", "6/8"):
        raise ValueError("other metre")
    top, bottom = (int(figure) for figure in metre.split("/"))
    measure = top * UNIT // bottom
    unit = Fraction(fields["L"]) if "L" in fields else Fraction(1, 8)
    tonic, signature = _key(fields.get("K", ""))
    line = _Line(unit, signature)
    notes, bars, ends = line.read(body)
    return Tune(
        name=name, title=fields.get("T", "").upper(), metre=metre, measure=measure,
        pickup=_pickup(bars, measure, notes), tonic=tonic, notes=notes, phrase_ends=ends,
        signs=line.signs,
    )  # fmt: skip


def _take_field(line: str, fields: dict[str, str], *, begun: bool) -> None:
    letter, value = line[0], line[2:].strip()
    if begun and letter in "KMLV":
        raise ValueError("changes within the tune")
    if letter == "V" or (letter == "P" and begun):
        raise ValueError("several parts")
    fields.setdefault(letter, value)


def _key(text: str) -> tuple[int, dict[str, int]]:
    """The letter of a major key's tonic, and its letters that are sharp or flat."""
    match = _KEY.match(text.strip())
    if match is None or re.search(r"(m|min|dor|mix|phr|lyd|loc|aeo)\b", text[1:], re.IGNORECASE):
        raise ValueError("not major")
    letter, sign = match[1].upper(), {"": 0, "#": 7, "b": -7}[match[2]]
    fifths = _FIFTHS.index(letter) - 1 + sign
    sharp = {name: (fifths - at + 6) // 7 for at, name in enumerate(_FIFTHS)}
    return _STEPS[letter], sharp


def _pickup(bars: list[int], measure: int, notes: tuple[Sung, ...]) -> int:
    """Length of the opening short measure; ValueError where measures do not add up."""
    end = notes[-1].start + notes[-1].length
    inner = sorted({bar for bar in bars if 0 < bar < end})
    first = inner[0] if inner else end
    pickup = first if first < measure else 0
    if any((bar - pickup) % measure for bar in inner):
        raise ValueError("bars do not add up")
    return pickup


class _Line:
    """The music lines of one tune, read from left to right."""

    def __init__(self, unit: Fraction, signature: dict[str, int]) -> None:
        self._unit, self._signature = unit, signature
        self.signs = False
        self._raised: dict[int, int] = {}  # in this measure
        self._notes: list[tuple[int | None, int, Fraction]] = []
        self._bars: list[Fraction] = []
        self._ends: list[Fraction] = []
        self._now = Fraction(0)
        self._skipping = self._tied = False
        self._broken = Fraction(0)

    def read(self, lines: list[str]) -> tuple[tuple[Sung, ...], list[int], tuple[int, ...]]:
        for line in lines:
            for match in _TOKEN.finditer(_DROPPED.sub("", line)):
                self._token(match)
            self._ends.append(self._now)
        ticks = [UNIT * time for _, _, time in self._notes]
        if not ticks or any(tick.denominator > 1 for tick in ticks):
            raise ValueError("other note values")
        notes, now = [], 0
        for (step, alter, _), tick in zip(self._notes, ticks, strict=True):
            notes.append(Sung(start=now, length=int(tick), step=step, alter=alter))
            now += int(tick)
        while notes and notes[-1].step is None:
            notes.pop()
        if not notes:
            raise ValueError("no note")
        bars = [int(UNIT * bar) for bar in self._bars]
        return tuple(notes), bars, tuple(int(UNIT * end) for end in self._ends)

    def _token(self, match: re.Match[str]) -> None:
        if match["bar"]:
            if "2" in (match["ending"] or ""):
                self._skipping = True
            elif ":" in match["bar"] or "||" in match["bar"] or "]" in match["bar"]:
                self._skipping = False
            self._bars.append(self._now)
            self._raised = {}
        elif self._skipping or match["space"]:
            return
        elif match["note"]:
            self._note(match)
        elif match["broken"]:
            self._break(match["broken"])
        else:
            raise ValueError("chords, tuplets or other signs")

    def _note(self, match: re.Match[str]) -> None:
        sign, letter = match["note"][:-1], match["note"][-1]
        length = self._unit * _factor(match["length"])
        if self._broken:
            length *= self._broken
            self._broken = Fraction(0)
        step: int | None = None
        if letter not in "zx":
            step = _STEPS[letter.upper()] + (35 if letter.islower() else 28)
            step += 7 * (match["octave"].count("'") - match["octave"].count(","))
        alter = self._altered(step, letter, sign)
        if self._tied and self._notes and self._notes[-1][0] == step:
            self._notes[-1] = (step, self._notes[-1][1], self._notes[-1][2] + length)
        else:
            self._notes.append((step, alter, length))
        self._tied = bool(match["tie"])
        self._now += length

    def _altered(self, step: int | None, letter: str, sign: str) -> int:
        """How far a note is raised above its step in the key; a sign holds up to the bar."""
        if step is None:
            return 0
        usual = self._signature[letter.upper()]
        if sign:
            self.signs = True
            self._raised[step] = sum(_SIGNS[each] for each in sign)
        return self._raised.get(step, usual) - usual

    def _break(self, signs: str) -> None:
        if not self._notes:
            raise ValueError("a broken rhythm with no note before it")
        short = Fraction(1, 2 ** len(signs))
        longer = 2 - short
        before = longer if signs[0] == ">" else short
        step, alter, length = self._notes[-1]
        self._notes[-1] = (step, alter, length * before)
        self._now += length * before - length
        self._broken = short if signs[0] == ">" else longer


def _factor(text: str) -> Fraction:
    if not text:
        return Fraction(1)
    top, slash, bottom = text.partition("/")
    if not slash:
        return Fraction(int(top))
    halvings = text.count("/")
    low = bottom.strip("/")
    return Fraction(int(top or 1), int(low) if low else 2**halvings)
