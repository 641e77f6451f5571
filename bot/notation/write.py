"""An exercise as MusicXML 4.0.

music21 builds and serialises the score. What it adds of its own (random part ids, a date, its name
and version, a title, comments) is taken out again, so equal exercises give equal bytes on any day
and machine.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterator
from typing import cast

from music21 import bar, clef, key, layout, meter, note, pitch, stream, tempo, tie
from music21.musicxml import m21ToXml

from bot.music.exercise import Exercise
from bot.music.voice import Clef
from bot.notation.accidental import printed_accidentals
from bot.notation.beams import beam
from bot.notation.verse import add_verse, words_under
from bot.notation.written import WrittenNote, written_measures

HEAD = (
    b'<?xml version="1.0" encoding="UTF-8"?>\n'
    b'<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    b'"http://www.musicxml.org/dtds/partwise.dtd">\n'
)
_ADDED_BY_MUSIC21 = ("movement-title", "identification", "defaults")
_ACCIDENTALS = {-2: "double-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}


def musicxml(
    exercise: Exercise,
    *,
    clefs: tuple[Clef, ...],
    labels: tuple[str, ...] = (),
    tempo_bpm: int | None = None,
) -> bytes:
    """Write an exercise with its words; one clef a part, and one label a part or none at all.

    `tempo_bpm` counts the felt beat of the metre. UTF-8, valid against the MusicXML 4.0 schema.
    ValueError where clefs or labels do not match the parts.
    """
    parts = len(exercise.parts)
    if len(clefs) != parts or len(labels) not in (0, parts):
        raise ValueError(f"{len(clefs)} clefs and {len(labels)} labels for {parts} parts")
    score = stream.Score()
    staves = [
        _part(exercise, index, clefs[index], tempo_bpm if index == 0 else None)
        for index in range(parts)
    ]
    for staff in staves:
        score.insert(0, staff)
    if parts > 1:
        score.insert(0, layout.StaffGroup(staves, symbol="bracket", barTogether=False))
    root = m21ToXml.ScoreExporter(score, makeNotation=False).parse()
    _tidy(root, labels or ("",) * parts, pickup=bool(exercise.pickup))
    for index, part in enumerate(root.findall("part")):
        words = words_under(exercise, index, written_measures(exercise, index))
        add_verse(list(part.iter("note")), list(words))
    ET.indent(root, space=" ")
    body: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=False)
    return HEAD + body + b"\n"


def _part(exercise: Exercise, index: int, part_clef: Clef, tempo_bpm: int | None) -> stream.Part:
    part = stream.Part()
    measures = written_measures(exercise, index)
    signs = printed_accidentals(exercise, index, measures)
    for written in measures:
        measure = stream.Measure(number=written.number)
        if written is measures[0]:
            for opening in _opening(exercise, part_clef, tempo_bpm):
                measure.insert(0, opening)
        if written is measures[-1]:
            measure.rightBarline = bar.Barline("final")
        elements = [_element(exercise, index, item, next(signs)) for item in written.notes]
        beam(written, elements, exercise.metre)
        for item, element in zip(written.notes, elements, strict=True):
            measure.insert(4 * (item.offset - written.offset), element)
        part.append(measure)
    return part


def _opening(
    exercise: Exercise, part_clef: Clef, tempo_bpm: int | None
) -> Iterator[clef.Clef | key.Key | meter.TimeSignature | tempo.MetronomeMark]:
    match part_clef:
        case Clef.TREBLE:
            yield clef.TrebleClef()
        case Clef.TREBLE8:
            yield clef.Treble8vbClef()
        case Clef.BASS:
            yield clef.BassClef()
    yield key.KeySignature(exercise.key.fifths).asKey(exercise.key.mode.value)
    yield meter.TimeSignature("cut" if exercise.metre.cut else str(exercise.metre))
    if tempo_bpm is not None:
        yield tempo.MetronomeMark(number=tempo_bpm, referent=4 * exercise.metre.pulse)


def _element(
    exercise: Exercise, part: int, written: WrittenNote, sign: bool
) -> note.Note | note.Rest:
    quarters = 4 * written.duration
    if written.tone is None:
        rest = note.Rest(quarterLength=quarters)
        rest.fullMeasure = written.value is None
        return rest
    sounding = exercise.pitch(written.tone, part)
    spelled = pitch.Pitch(f"{sounding.letter}{sounding.octave}")
    if sounding.alter or sign:
        spelled.accidental = pitch.Accidental(_ACCIDENTALS[sounding.alter])
        spelled.accidental.displayStatus = sign
    element = note.Note(spelled, quarterLength=quarters)
    match written.held, written.tied:
        case True, True:
            element.tie = tie.Tie("continue")
        case True, False:
            element.tie = tie.Tie("stop")
        case False, True:
            element.tie = tie.Tie("start")
    return element


def _tidy(root: ET.Element, labels: tuple[str, ...], *, pickup: bool) -> None:
    """Take out what music21 added, set stable ids, name the parts, mark a pickup."""
    for name in _ADDED_BY_MUSIC21:
        for element in root.findall(name):
            root.remove(element)
    for element in (root, *root.findall("part")):
        for comment in [each for each in element if cast(object, each.tag) is ET.Comment]:
            element.remove(comment)
    listed = root.findall("part-list/score-part")
    for number, (part, label) in enumerate(zip(listed, labels, strict=True), start=1):
        for child in list(part):
            part.remove(child)
        part.set("id", f"P{number}")
        ET.SubElement(part, "part-name").text = label
    for number, part in enumerate(root.findall("part"), start=1):
        part.set("id", f"P{number}")
        if pickup:
            part[0].set("implicit", "yes")
