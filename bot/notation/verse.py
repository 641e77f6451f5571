"""Texts under notes in MusicXML: one verse, a text for each written note or none."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterator, Sequence

from bot.music.exercise import Exercise
from bot.notation.written import WrittenMeasure


def add_verse(notes: Sequence[ET.Element], line: Sequence[str]) -> None:
    """Add a verse below those that are there; a hyphen behind a text leads on to the next.

    `line` has a text for every note, empty for none.
    """
    number = 1 + max((len(note.findall("lyric")) for note in notes), default=0)
    within = False
    for note, text in zip(notes, line, strict=True):
        if not text:
            continue
        goes_on = text.endswith("-") and len(text) > 1
        syllabic = {
            (False, False): "single",
            (False, True): "begin",
            (True, True): "middle",
            (True, False): "end",
        }[within, goes_on]
        lyric = ET.SubElement(note, "lyric", {"number": str(number)})
        ET.SubElement(lyric, "syllabic").text = syllabic
        # With any other space verovio takes the `1` of `1 (2)` for the number of a verse.
        shown = text.removesuffix("-") if goes_on else text
        ET.SubElement(lyric, "text").text = shown.replace(" ", "\N{THIN SPACE}")
        within = goes_on


def words_under(exercise: Exercise, part: int, measures: Sequence[WrittenMeasure]) -> Iterator[str]:
    """The words of a part for every written note and rest, empty where none begins."""
    texts = iter(exercise.parts[part].words)
    for measure in measures:
        for note in measure.notes:
            yield "" if note.tone is None or note.held else next(texts, "")


def words_in(part: ET.Element) -> tuple[str, ...]:
    """The first verse of a `<part>` where every note that is struck has a text; empty otherwise.

    Spaces within a text, as where two words share a note, become one thin space.
    """
    found = []
    for note in part.iter("note"):
        if note.find("rest") is not None or _held(note):
            continue
        lyric = min(note.findall("lyric"), key=lambda each: each.get("number", "1"), default=None)
        text = "" if lyric is None else "\N{THIN SPACE}".join(lyric.findtext("text", "").split())
        if lyric is None or not text:
            return ()
        goes_on = lyric.findtext("syllabic") in ("begin", "middle")
        found.append(f"{text}-" if goes_on else text)
    return tuple(found)


def _held(note: ET.Element) -> bool:
    return any(tie.get("type") == "stop" for tie in note.findall("tie"))
