"""What an engraver must know of a score before laying it out: its staves, and how full it is."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from bot.music.pitch import Key, Mode, Pitch
from bot.notation.lying import do_octave

_OCTAVE, _TOP = 7, 8  # in steps of a staff; its top line
_BESIDE = 3  # steps beside a staff with one ledger line
_BOTTOM_LINES = {("G", "2"): "E4", ("F", "4"): "G2"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Staff:
    """One part's staff: its label, what its bottom line means, and where do lies for its line.

    `bottom`, `do` and `tonic` count letters above C0, as `Pitch.staff_step` does; `do` and `tonic`
    lie within a ledger line of the staff, if need be in another octave, and are None where the
    part has no note. `one_line`: for rhythm alone.
    """

    label: str
    bottom: int
    do: int | None
    tonic: int | None
    one_line: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureShape:
    """How full a measure is: lengths in whole notes from one onset of any part to the next.

    `texts` are the texts under the notes of each onset, of any part and line.
    """

    lengths: tuple[Fraction, ...]
    accidentals: int
    texts: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """The parsed tree of a score with its shape; `pickup` says whether it opens with one.

    `lines_under` is how many lines of text stand under a staff at most.
    """

    tree: ET.Element
    key: Key
    pickup: bool
    staves: tuple[Staff, ...]
    measures: tuple[MeasureShape, ...]
    lines_under: int


def parse_score(musicxml: bytes) -> Score:
    """Read MusicXML that Riserbell itself wrote."""
    tree = ET.fromstring(musicxml)  # noqa: S314 - written by this program, never a person's file
    parts = tree.findall("part")
    signature = tree.find("part/measure/attributes/key")
    assert signature is not None
    key = Key(
        fifths=int(signature.findtext("fifths", "0")),
        mode=Mode(signature.findtext("mode", "major")),
    )
    whole = 4 * int(tree.findtext("part/measure/attributes/divisions", "1"))
    labels = [name.text or "" for name in tree.findall("part-list/score-part/part-name")]
    return Score(
        tree=tree,
        key=key,
        pickup=parts[0][0].get("implicit") == "yes",
        staves=tuple(_staff(part, label, key) for part, label in zip(parts, labels, strict=True)),
        measures=tuple(_shape(column, whole) for column in zip(*parts, strict=True)),
        lines_under=max(len(note.findall("lyric")) for note in tree.iter("note")),
    )


def _staff(part: ET.Element, label: str, key: Key) -> Staff:
    clef = part.find("measure/attributes/clef")
    assert clef is not None
    sign = (clef.findtext("sign", "G"), clef.findtext("line", "2"))
    if sign not in _BOTTOM_LINES:  # rhythm on a single line: no do
        return Staff(label=label, bottom=0, do=None, tonic=None, one_line=True)
    bottom = Pitch.parse(_BOTTOM_LINES[sign]).staff_step
    bottom += 7 * int(clef.findtext("clef-octave-change", "0"))
    pitches = [_pitch(element) for element in part.iter("pitch")]
    if not pitches:
        return Staff(label=label, bottom=bottom, do=None, tonic=None)
    octave = do_octave(pitches, key)
    tonic = key.pitch(0 if key.mode is Mode.MAJOR else -2, 0, octave).staff_step
    return Staff(
        label=label,
        bottom=bottom,
        do=_near(key.pitch(0, 0, octave).staff_step, bottom),
        tonic=_near(tonic, bottom),
    )


def _near(step: int, bottom: int) -> int:
    """The same letter where a staff can show it: with one ledger line at most."""
    while step < bottom - _BESIDE:
        step += _OCTAVE
    while step > bottom + _TOP + _BESIDE:
        step -= _OCTAVE
    return step


def _pitch(element: ET.Element) -> Pitch:
    return Pitch(
        letter=element.findtext("step", ""),
        alter=int(element.findtext("alter", "0")),
        octave=int(element.findtext("octave", "")),
    )


def _shape(column: tuple[ET.Element, ...], whole: int) -> MeasureShape:
    moments = set()
    texts: dict[int, list[str]] = {}
    for measure in column:
        at = 0
        for note in measure.iter("note"):
            moments.add(at)
            found = [lyric.findtext("text", "") for lyric in note.findall("lyric")]
            texts.setdefault(at, []).extend(found)
            at += int(note.findtext("duration", "0"))
        moments.add(at)
    ordered = sorted(moments)
    return MeasureShape(
        lengths=tuple(Fraction(b - a, whole) for a, b in pairwise(ordered)),
        accidentals=sum(len(list(measure.iter("accidental"))) for measure in column),
        texts=tuple(tuple(texts.get(moment, ())) for moment in ordered[:-1]),
    )
