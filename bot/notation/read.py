"""A director's MusicXML becomes an exercise, or is refused with all its faults at once.

Read are notes, rests, ties, pickups, key and metre of one to three parts of one line each, at
sounding pitch. What a reading does not show (words under the notes, dynamics, slurs and the like)
is left out and named in `LeftOut`; what would change the notes themselves is a fault.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import dataclass, replace
from enum import StrEnum

from bot.errors import InputProblems
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.pitch import Key, Mode
from bot.music.rhythm import Metre
from bot.music.voice import Clef
from bot.notation.bars import Bars, barred
from bot.notation.door import safe_tree
from bot.notation.faults import FaultList, Spot
from bot.notation.lying import do_octave
from bot.notation.part_in import PartMeasure, PartReader
from bot.notation.verse import words_in

MOST_PARTS = 3
MOST_MEASURES = 128
_LONGEST_NAME = 80


class LeftOut(StrEnum):
    """Kinds of marks that a reading does not show."""

    WORDS = "words"
    DYNAMICS = "dynamics"
    SLURS = "slurs"
    ARTICULATIONS = "articulations"
    CHORD_SYMBOLS = "chord_symbols"
    DIRECTIONS = "directions"
    REPEATS = "repeats"


_LEFT_OUT = {
    "lyric": LeftOut.WORDS,
    "dynamics": LeftOut.DYNAMICS,
    "wedge": LeftOut.DYNAMICS,
    "slur": LeftOut.SLURS,
    "articulations": LeftOut.ARTICULATIONS,
    "ornaments": LeftOut.ARTICULATIONS,
    "fermata": LeftOut.ARTICULATIONS,
    "harmony": LeftOut.CHORD_SYMBOLS,
    "figured-bass": LeftOut.CHORD_SYMBOLS,
    "words": LeftOut.DIRECTIONS,
    "rehearsal": LeftOut.DIRECTIONS,
    "metronome": LeftOut.DIRECTIONS,
    "repeat": LeftOut.REPEATS,
    "segno": LeftOut.REPEATS,
    "coda": LeftOut.REPEATS,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class BroughtMusic:
    """A director's music: the exercise, and what else the file says of it.

    `title` is empty where there is none; one label and one clef a part; `left_out` in the order of
    the enum.
    """

    exercise: Exercise
    title: str
    labels: tuple[str, ...]
    clefs: tuple[Clef, ...]
    left_out: tuple[LeftOut, ...]


def exercise_from_musicxml(data: bytes, file: str) -> Exercise:
    """Read .musicxml, .xml or .mxl of at most 2 MiB; InputProblems lists every fault."""
    return music_from_musicxml(data, file).exercise


def music_from_musicxml(data: bytes, file: str) -> BroughtMusic:
    """Read a file with its title, labels and clefs; InputProblems lists every fault.

    `file` is the name that faults about the whole file give. A signature without a mode counts as
    minor where the lowest part ends on la. A pickup is a short first measure.
    """
    root = safe_tree(data, file)
    faults = FaultList()
    if root.tag != "score-partwise":
        faults.add(file, f"it holds <{root.tag[:40]}>, not music by parts", "save it as MusicXML")
        raise InputProblems(faults.told(file))
    lines = _lines(root, file, faults)
    key, metre = _signatures(lines, file, faults)
    bars = [barred(line.measures, metre, line.label, faults) for line in lines]
    _same_length(lines, bars, file, faults)
    if faults:
        raise InputProblems(faults.told(file))
    exercise, all_worded = _with_words(_exercise(bars, key, metre), root)
    return BroughtMusic(
        exercise=exercise,
        title=_title(root),
        labels=tuple(line.name for line in lines),
        clefs=tuple(line.reader.signatures.clef or Clef.TREBLE for line in lines),
        left_out=tuple(
            kind for kind in _left_out(root) if kind is not LeftOut.WORDS or not all_worded
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    """One part as read: its name in the file, its label in faults, its reader and measures."""

    name: str
    label: str
    reader: PartReader
    measures: tuple[PartMeasure, ...]


def _lines(root: ET.Element, file: str, faults: FaultList) -> list[_Line]:
    parts = root.findall("part")
    if not parts:
        faults.add(file, "it has no part with notes", "save it again from the notation program")
    if len(parts) > MOST_PARTS:
        faults.add(file, f"it has {len(parts)} parts", f"leave at most {MOST_PARTS}")
    names = {
        each.get("id"): _short(each.findtext("part-name"))
        for each in root.findall("part-list/score-part")
    }
    named = [names.get(part.get("id"), "") for part in parts]
    telling = all(named) and len(set(named)) == len(named)
    lines = []
    for count, (part, name) in enumerate(zip(parts, named, strict=True), start=1):
        label = (name if telling else f"part {count}") if len(parts) > 1 else ""
        reader = PartReader(label=label, faults=faults)
        measures = reader.measures(part)
        _check_size(measures, label or file, faults)
        lines.append(_Line(name=name, label=label, reader=reader, measures=measures))
    return lines


def _check_size(measures: tuple[PartMeasure, ...], place: str, faults: FaultList) -> None:
    if not any(note.pitch for measure in measures for note in measure.notes):
        faults.add(place, "it has no note", "leave out parts that do not sing")
    if len(measures) > MOST_MEASURES:
        faults.add(place, f"it has {len(measures)} measures", f"cut out {MOST_MEASURES} at most")


def _signatures(lines: list[_Line], file: str, faults: FaultList) -> tuple[Key, Metre]:
    """Return the one key and metre of all parts; differences become faults."""
    keys = [line.reader.signatures.fifths or 0 for line in lines]
    metres = [line.reader.signatures.metre for line in lines]
    for line, fifths, metre in zip(lines, keys, metres, strict=True):
        place = line.label or file
        if fifths != keys[0]:
            faults.add(place, "its key differs from the first part's", "use one key for all")
        if metre is None:
            faults.add(place, "it has no time signature", "use a meter such as 4/4")
        elif metres[0] is not None and metre.measure != metres[0].measure:
            faults.add(place, "its meter differs from the first part's", "use one meter for all")
    if not lines:
        return Key(fifths=0), Metre()
    mode = lines[0].reader.signatures.mode or _mode_by_ending(lines[-1], keys[0])
    return Key(fifths=keys[0], mode=mode), metres[0] or Metre()


def _mode_by_ending(line: _Line, fifths: int) -> Mode:
    """Minor where the line ends on la, else major: many programs write no mode."""
    pitches = [note.pitch for measure in line.measures for note in measure.notes if note.pitch]
    la = Key(fifths=fifths).pitch(5, 0, 4).name
    return Mode.MINOR if pitches and pitches[-1].name == la else Mode.MAJOR


def _same_length(lines: list[_Line], bars: list[Bars], file: str, faults: FaultList) -> None:
    for line, bar in zip(lines[1:], bars[1:], strict=True):
        if len(bar.measures) != len(bars[0].measures):
            faults.add(
                line.label,
                f"it has {len(bar.measures)} measures, the first part {len(bars[0].measures)}",
                "make all parts equally long",
            )
        if faults:
            continue  # a measure that does not add up has been told already
        for mine, first in zip(bar.measures, bars[0].measures, strict=True):
            if mine.length != first.length:
                faults.add(
                    Spot(part=line.label, measure=mine.number, count=mine.count),
                    "the measure is not as long as the first part's",
                    "make them equally long",
                )


def _exercise(bars: list[Bars], key: Key, metre: Metre) -> Exercise:
    return Exercise(
        key=key,
        metre=metre,
        parts=tuple(_part(bar, key) for bar in bars),
        pickup=bars[0].pickup,
    )


def _with_words(exercise: Exercise, root: ET.Element) -> tuple[Exercise, bool]:
    """The exercise with the words of parts that have one for each note; whether all of them do."""
    found = []
    for part, element in zip(exercise.parts, root.findall("part"), strict=True):
        words = words_in(element)
        found.append(replace(part, words=words if len(words) == len(part.tones()) else ()))
    return replace(exercise, parts=tuple(found)), all(part.words for part in found)


def _part(bar: Bars, key: Key) -> Part:
    octave = do_octave([note.pitch for note in bar.notes if note.pitch], key)
    notes = []
    for note in bar.notes:
        tone = None
        if note.pitch is not None:
            step, alter = key.step_of(note.pitch, octave)
            tone = Tone(step=step, alter=alter)
        notes.append(Note(duration=note.duration, tone=tone, tied=note.tied))
    return Part(notes=tuple(notes), do_octave=octave)


def _title(root: ET.Element) -> str:
    return _short(root.findtext("work/work-title")) or _short(root.findtext("movement-title"))


def _short(text: str | None) -> str:
    """Return a name in one line, cut off where it is no name any more."""
    return " ".join((text or "").split())[:_LONGEST_NAME].strip()


def _left_out(root: ET.Element) -> tuple[LeftOut, ...]:
    kinds = {_LEFT_OUT[element.tag] for element in root.iter() if element.tag in _LEFT_OUT}
    return tuple(kind for kind in LeftOut if kind in kinds)
