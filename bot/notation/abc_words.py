"""Words of ABC: a `w:` line read as one text a note (standard 2.1, section 5.1)."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from bot.notation.abc_piece import AbcNote

_ON_ONE_NOTE = "\N{THIN SPACE}"
_TEXT = r"(?:\\.|[^\s\-_*|\\])+"
_SIGNS = re.compile(rf"(?P<text>{_TEXT})(?P<hyphen>-?)|(?P<sign>[-_*|])")
_MEANT = re.compile(r"\\(.)|~")


def texts_of(line: str, bars: Sequence[Sequence[AbcNote]]) -> Iterator[tuple[AbcNote, str]]:
    """Yield the notes of a line of music that begin a text, each with it.

    `bars` are the notes of that line between its bar lines; rests take no text. `_` and a further
    `-` hold the text before, `*` leaves a note empty, `|` goes on to the next bar.
    """
    notes = [(bar, note) for bar, inside in enumerate(bars) for note in inside if note.pitch]
    at = bar = 0
    for sign in _SIGNS.finditer(line):
        if sign["sign"] == "|":
            bar = max(bar, notes[at - 1][0] if 0 < at <= len(notes) else 0) + 1
            at += sum(inside < bar for inside, _ in notes[at:])
        elif at >= len(notes):
            return
        else:
            if sign["text"]:
                yield notes[at][1], _MEANT.sub(_meant, sign["text"]) + sign["hyphen"]
            at += 1


def _meant(sign: re.Match[str]) -> str:
    return sign[1] or _ON_ONE_NOTE
