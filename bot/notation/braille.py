"""An exercise as music braille: a BRF file that every embosser and braille display reads.

Part by part, each in short paragraphs that begin with the number of their first measure, as the
books of exercises have it; a part with words in lines of words and of music (`braille_vocal.py`).
Key and time stand over the music. A measure is not divided unless it is longer than a line.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from bot.music.exercise import Exercise
from bot.notation.braille_line import MusicLines, accidentals_of, is_silent
from bot.notation.braille_sign import END, heading, literary, number
from bot.notation.braille_vocal import vocal_lines
from bot.notation.written import WrittenMeasure, written_measures


def brf(
    exercise: Exercise,
    *,
    title: str = "",
    labels: tuple[str, ...] = (),
    cells: int = 40,
    lines: int = 25,
    paragraph: int = 4,
) -> str:
    """Write an exercise in braille ASCII with CR LF line ends and a form feed after each page.

    `labels` name the parts where there is more than one; without them they are numbered.
    `paragraph` is how many measures each paragraph has, 0 for one paragraph. Equal input gives
    equal text. ValueError for a line or page too short for any music, or labels that do not match.
    """
    parts = range(len(exercise.parts))
    if cells < 12 or lines < 2 or len(labels) not in (0, len(parts)):
        raise ValueError(
            f"{cells} cells, {lines} lines, {len(labels)} labels for {len(parts)} parts"
        )
    text = [*_broken(literary(title), cells), heading(exercise).center(cells).rstrip()]
    for part in parts:
        if len(parts) > 1:
            text += _broken(literary(labels[part]) if labels else number(part + 1), cells)
        if exercise.parts[part].words:
            text += vocal_lines(exercise, part, cells, paragraph)
        else:
            text += _part(exercise, part, cells, paragraph)
    pages = [text[begin : begin + lines] for begin in range(0, len(text), lines)]
    return "".join("".join(line + "\r\n" for line in page) + "\f" for page in pages)


def _broken(words: str, cells: int) -> list[str]:
    """Centre words, on several lines where one is too short."""
    rows: list[str] = []
    for word in words.split():
        if rows and len(rows[-1]) + 1 + len(word) <= cells:
            rows[-1] += f" {word}"
        else:
            rows.append(word[:cells])
    return [row.center(cells).rstrip() for row in rows]


def _part(exercise: Exercise, part: int, cells: int, paragraph: int) -> list[str]:
    measures = written_measures(exercise, part)
    size = paragraph or len(measures)
    accidentals = accidentals_of(exercise, part)
    text: list[str] = []
    for _, group in groupby(measures, lambda each: max(each.number - 1, 0) // size):
        inside = list(group)
        writer = MusicLines(
            exercise=exercise,
            part=part,
            cells=cells,
            accidentals=accidentals,
            text=[number(inside[0].number)],
        )
        for run in _runs(inside):
            writer.add(run, END if run[-1] is measures[-1] else "")
        text += writer.text
    return text


def _runs(measures: Sequence[WrittenMeasure]) -> Iterator[list[WrittenMeasure]]:
    """Yield measures one by one, but silent ones in a row together."""
    for silent, group in groupby(measures, is_silent):
        if silent:
            yield list(group)
        else:
            yield from ([measure] for measure in group)
