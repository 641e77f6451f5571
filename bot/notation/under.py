"""Lines of text under the notes, put into MusicXML as verses; and rhythm alone on a single line.

Rhythm alone is written as the trade writes it: one line, the clef of instruments without pitch,
no key, every stem upwards.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import assert_never

from bot.music.exercise import Exercise
from bot.music.page_options import PageOptions, Under
from bot.music.rhythm_names import beat_figures, rhythm_words
from bot.music.solfa import Naming, Solfa
from bot.notation.verse import add_verse
from bot.notation.write import HEAD
from bot.notation.written import written_measures

_CLEF = "<clef><sign>percussion</sign></clef>"
_ONE_LINE = "<staff-details><staff-lines>1</staff-lines></staff-details>"
_BEHIND_STEM = ("notehead", "notehead-text", "staff", "beam", "notations", "lyric", "play")
_ON_THE_LINE = ("E", "4")  # the lowest line of a staff, and here the only one


def with_options(musicxml: bytes, exercise: Exercise, options: PageOptions, solfa: Solfa) -> bytes:
    """Add the lines that the options ask for to what `musicxml()` wrote of this exercise.

    Words are there already where the music has any. Equal input gives equal bytes, and options
    that ask for nothing change nothing.
    """
    if not options.under and not options.rhythm_only:
        return musicxml
    root = ET.fromstring(musicxml)  # noqa: S314 - written by this program, never a person's file
    for part, element in enumerate(root.findall("part")):
        notes = list(element.iter("note"))
        for line in lines_under(exercise, options, solfa, part):
            add_verse(notes, line)
        if options.rhythm_only:
            _flatten(element, notes)
    ET.indent(root, space=" ")
    written: bytes = ET.tostring(root, encoding="utf-8")
    return HEAD + written + b"\n"


def lines_under(
    exercise: Exercise, options: PageOptions, solfa: Solfa, part: int
) -> Iterator[tuple[str, ...]]:
    """One line after the other, each with a text for every written note and rest, often empty."""
    written = [note for measure in written_measures(exercise, part) for note in measure.notes]
    for under in Under:
        if under not in options.under:
            continue
        texts = iter(_texts(exercise, under, options, solfa, part))
        line = tuple("" if note.tone is None or note.held else next(texts, "") for note in written)
        if any(line):
            yield line


def _texts(
    exercise: Exercise, under: Under, options: PageOptions, solfa: Solfa, part: int
) -> Sequence[str]:
    """The texts of the notes that are struck."""
    match under:
        case Under.SYLLABLES:
            return _named(exercise, replace(solfa, naming=Naming.SYLLABLES), part)
        case Under.NUMBERS:
            return _named(exercise, replace(solfa, naming=Naming.NUMBERS), part)
        case Under.LETTERS:
            return _named(exercise, replace(solfa, naming=Naming.LETTERS), part)
        case Under.RHYTHM:
            return rhythm_words(exercise, options.rhythm_names, part)
        case Under.BEATS:
            return beat_figures(exercise, part)
    assert_never(under)


def _named(exercise: Exercise, solfa: Solfa, part: int) -> list[str]:
    return [solfa.name(tone, exercise.key) for tone in exercise.parts[part].tones()]


def _stem_up(note: ET.Element) -> None:
    """Say that a note's stem goes up, in the place that the schema has for it."""
    for stem in note.findall("stem"):
        note.remove(stem)
    behind = [at for at, each in enumerate(note) if each.tag in _BEHIND_STEM]
    stem = ET.Element("stem")
    stem.text = "up"
    note.insert(min(behind, default=len(note)), stem)


def _flatten(part: ET.Element, notes: Sequence[ET.Element]) -> None:
    """Set every note on one line, without key, clef of pitches or accidentals."""
    for note in notes:
        for accidental in note.findall("accidental"):
            note.remove(accidental)
        pitch = note.find("pitch")
        if pitch is not None:
            pitch.clear()
            pitch.tag = "unpitched"
            for tag, text in zip(("display-step", "display-octave"), _ON_THE_LINE, strict=True):
                ET.SubElement(pitch, tag).text = text
            _stem_up(note)
    attributes = part.find("measure/attributes")
    assert attributes is not None
    clef = attributes.find("clef")
    if clef is not None:
        place = list(attributes).index(clef)
        attributes.remove(clef)
        for offset, text in enumerate((_CLEF, _ONE_LINE)):
            attributes.insert(place + offset, ET.fromstring(text))  # noqa: S314 - our own
    key = attributes.find("key")
    if key is not None:
        key.clear()
        ET.SubElement(key, "fifths").text = "0"
