"""Tonic sol-fa letters as signs on lines: headings, accent marks, and what stands in a pulse."""

from __future__ import annotations

import re
import string
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import pairwise

from bot.errors import Fault
from bot.music.exercise import Tone
from bot.music.letter_words import WordLine, is_words, word_line
from bot.music.letters import DEGREES, NAMES, SLOTS, Dialect, cuts_of
from bot.music.pitch import Key, Mode, PitchName
from bot.music.spot import Spot

STRONG = "|"
_MARKS = "|!:"
_LETTERS = string.ascii_lowercase
_PITCH = r"([A-Ga-g](?:#|b|♯|♭)?)"
_HEADING = re.compile(
    rf"\s*KEY\s+{_PITCH}(\d)?(?:\s*\.|\b|(?=\s))(?:\s*LAH\s+IS\s+{_PITCH}\s*\.?)?", re.IGNORECASE
)
_KEY_WORD = re.compile(r"\s*KEY\b[^|!:]*", re.IGNORECASE)
_SYLLABLES = ("do", "re", "mi", "fa", "so", "sol", "la", "ti")  # words where letters belong
_NOTE = re.compile(r"([a-z]+)('*)(_*)")
# What phones and word processors make of an apostrophe and a hyphen.
_TYPED = str.maketrans({"’": "'", "‘": "'", "ʼ": "'", "′": "'", "–": "-", "—": "-", "−": "-"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """What KEY says; `octave` is that of the plain d, `key` None where it is missing or wrong."""

    key: Key | None = None
    octave: int = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """A character and its place."""

    text: str
    spot: Spot


@dataclass(frozen=True, slots=True, kw_only=True)
class Pulse:
    """An accent mark and what stands after it, blanks left out."""

    sign: str
    spot: Spot
    signs: tuple[Sign, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Tune:
    """One part as it stands in the text."""

    heading: Heading
    spot: Spot
    pulses: tuple[Pulse, ...]
    words: tuple[WordLine, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """A note, a hold or silence from quarter `begin` of a pulse to quarter `end`."""

    begin: int
    end: int
    spot: Spot
    tone: Tone | None = None
    hold: bool = False


def read_tunes(text: str, faults: list[Fault]) -> tuple[Tune, ...]:
    """Cut a text into parts, one for each KEY, and each part into pulses. Returns at least one."""
    parts: list[_Body] = []
    for number, typed in enumerate(text.splitlines(), start=1):
        line = typed.translate(_TYPED)
        start, after = Spot(line=number, column=1), 0
        if parts and parts[-1].signs and is_words(line) and not _begins_part(line):
            parts[-1].words.append(word_line(typed, number, parts[-1].signs[-1].spot.line))
            continue
        if _KEY_WORD.match(line):
            heading, after = _heading(line, start, faults)
            parts.append(_Body(heading=heading, spot=start))
        elif line.strip() and not parts:
            faults.append(start.fault("there is no KEY", "begin with for example KEY F."))
            parts.append(_Body(heading=Heading(), spot=start))
        if parts:
            parts[-1].signs.extend(_signs(line, number, after))
    if not parts:
        faults.append(Spot(line=1, column=1).fault("there is nothing to read"))
        return (Tune(heading=Heading(), spot=Spot(line=1, column=1), pulses=()),)
    return tuple(
        Tune(
            heading=part.heading,
            spot=part.spot,
            pulses=_pulses(part.signs, faults),
            words=tuple(part.words),
        )
        for part in parts
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Body:
    """A part as it is gathered, line by line."""

    heading: Heading
    spot: Spot
    signs: list[Sign] = field(default_factory=list)
    words: list[WordLine] = field(default_factory=list)


def _begins_part(line: str) -> bool:
    """Whether a line is a KEY alone, and no words such as `Key to the north`."""
    heading = _HEADING.match(line)
    return heading is not None and not line[heading.end() :].strip()


def _signs(line: str, number: int, after: int) -> Iterator[Sign]:
    for column, character in enumerate(line, start=1):
        if column > after and not character.isspace():
            yield Sign(text=character, spot=Spot(line=number, column=column))


def _heading(line: str, spot: Spot, faults: list[Fault]) -> tuple[Heading, int]:
    """Read KEY and LAH at the beginning of a line; return where they end."""
    match = _HEADING.match(line)
    if match is None:
        faults.append(spot.fault("KEY names no note", "write for example KEY F. or KEY Bb."))
        loose = _KEY_WORD.match(line)
        return Heading(), loose.end() if loose else 0
    do, octave, lah = match.groups()
    heading = Heading(octave=int(octave or 4))
    try:
        name = PitchName.parse(do)
        key = Key.parse(name.plain)
    except ValueError as error:
        faults.append(spot.fault(str(error)))
        return heading, match.end()
    if lah is not None:
        key = replace(key, mode=Mode.MINOR)
        if PitchName.parse(lah) != key.tonic:
            faults.append(
                spot.fault(f"LAH is {lah}", f"in KEY {name.plain} it is {key.tonic.plain}")
            )
    return replace(heading, key=key), match.end()


def _pulses(signs: list[Sign], faults: list[Fault]) -> tuple[Pulse, ...]:
    pulses: list[Pulse] = []
    ended, said = False, False
    for before, sign in pairwise((None, *signs)):
        assert sign is not None
        if ended:
            if not said:
                faults.append(sign.spot.fault("something stands after the double bar"))
            said = True
        elif sign.text == STRONG and _touches(before, sign, STRONG):
            pulses.pop()
            ended = True
        elif sign.text in _MARKS:
            pulses.append(Pulse(sign=sign.text, spot=sign.spot))
        elif pulses:
            pulses[-1] = replace(pulses[-1], signs=(*pulses[-1].signs, sign))
        elif not said:
            remedy = "every pulse begins with | ! or :"
            faults.append(sign.spot.fault(f"{sign.text!r} stands before the first mark", remedy))
            said = True
    return tuple(_without_closing_bars(pulses, ended=ended))


def _without_closing_bars(pulses: list[Pulse], *, ended: bool) -> Iterator[Pulse]:
    """Leave out bars that only close: before another bar, or where the text ends with one."""
    for index, pulse in enumerate(pulses):
        last = index + 1 == len(pulses)
        closes = not ended if last else pulses[index + 1].sign == STRONG
        if pulse.signs or pulse.sign != STRONG or not closes:
            yield pulse


def read_cells(
    pulse: Pulse, dialect: Dialect, faults: list[Fault], *, low_commas: bool
) -> Iterator[Cell]:
    """Yield what stands in a pulse; what cannot be read is reported and taken for a note."""
    cells: list[list[Sign]] = [[]]
    cuts: list[str] = []
    before: Sign | None = None
    for sign in pulse.signs:
        low = low_commas and sign.text == "," and _touches(before, sign, _LETTERS + ",'_")
        if sign.text == "," and _touches(before, sign, "."):
            cuts[-1] = ".,"
        elif sign.text in ".," and not low:
            cuts.append(sign.text)
            cells.append([])
        else:
            cells[-1].append(replace(sign, text="_") if low else sign)
        before = sign
    places = cuts_of(tuple(cuts))
    if places is None:
        remedy = "one . for the halves, one , before it and one after it for quarters"
        faults.append(pulse.spot.fault(f"a pulse cut by {' '.join(cuts)}", remedy))
        return
    bounds = (0, *places, SLOTS)
    for (begin, end), signs in zip(pairwise(bounds), cells, strict=True):
        spot = signs[0].spot if signs else pulse.spot
        text = "".join(sign.text for sign in signs).lower()
        tone = _tone(text, dialect, spot, faults) if text not in ("", "-") else None
        yield Cell(begin=begin, end=end, spot=spot, tone=tone, hold=text == "-")


def _touches(before: Sign | None, sign: Sign, texts: str) -> bool:
    """Whether a sign follows one of `texts` without a blank."""
    return (
        before is not None
        and before.text.lower() in texts
        and before.spot.line == sign.spot.line
        and before.spot.column + 1 == sign.spot.column
    )


def _tone(text: str, dialect: Dialect, spot: Spot, faults: list[Fault]) -> Tone:
    match = _NOTE.fullmatch(text)
    tone = NAMES[dialect].get(match[1]) if match else None
    if match is None or tone is None:
        faults.append(spot.fault(f"{text!r} is no note", _remedy(match[1] if match else text)))
        return Tone(step=0)
    octaves = len(match[2]) - len(match[3])
    return replace(tone, step=tone.step + len(DEGREES) * octaves)


def _remedy(word: str) -> str:
    if word in _SYLLABLES:
        return f"write its letter: {word[0]}"
    known = [dialect for dialect in Dialect if word in NAMES[dialect]]
    if known:
        return f"it is one of the {known[0].value} names: choose those"
    if len(word) > 1 and set(word) <= set(DEGREES):
        return "two notes in one pulse are parted by a point: d.r"
    return "the letters are d r m f s l t, with ' for higher and _ for lower"
