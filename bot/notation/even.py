"""Notes spaced by their lengths, also where long words stand under them.

verovio pushes notes apart where their texts would meet, and then draws the system out to its width:
the words alone decide where the notes stand. Notes that begin farther apart need no pushing. So
a drawing is made with as much room for lengths as the width of the page still holds.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise

from bot.notation.lettering import Run, text_width
from bot.notation.marks import SPACE

USUAL = 0.32  # verovio's linear part of spacing, for music without words
_WIDER = (1.0, 0.8, 0.65, 0.5, 0.4)
_APART = 0.55 * SPACE  # least white between two texts
_HYPHEN = 0.95 * SPACE  # least white where a hyphen stands in it
_BEHIND_BAR = 0.92 * SPACE  # least white before a measure's first note: less is squeezed together
_NS = "{http://www.w3.org/2000/svg}"
_POINTS = re.compile(r"M(-?\d+) (-?\d+) L(-?\d+)")
_AT = re.compile(r"translate\((-?[\d.]+)")


def evenest(draw: Callable[[float], str], letters: float) -> str:
    """The most even drawing whose texts keep apart; `draw` takes the linear part of spacing.

    `letters` is the size of the texts under the notes, in units of the drawing.
    """
    for linear in _WIDER:
        drawn = draw(linear)
        if _has_room(drawn, letters):
            return drawn
    return draw(USUAL)


@dataclass(slots=True)
class _Text:
    x: float
    text: str
    hyphen: bool


@dataclass(slots=True)
class _System:
    """What a system has of texts by line, and where its staves end on the right."""

    lines: dict[float, list[_Text]] = field(default_factory=dict)
    right: float = 0.0
    squeezed: bool = False


def _has_room(drawn: str, letters: float) -> bool:
    root = ET.fromstring(drawn)  # noqa: S314 - drawn by verovio from this program's own MusicXML
    return all(
        not system.squeezed and all(_apart(line, system.right, letters) for line in _lines(system))
        for system in map(_read, _of_class(root, "system"))
    )


def _lines(system: _System) -> Iterator[list[_Text]]:
    for line in system.lines.values():
        yield sorted(line, key=lambda text: text.x)


def _apart(line: list[_Text], right: float, letters: float) -> bool:
    ends = [text.x + text_width((Run(text=text.text, size=letters),)) for text in line]
    return ends[-1] <= right and all(
        after.x - end >= (_HYPHEN if before.hyphen else _APART)
        for end, (before, after) in zip(ends, pairwise(line), strict=False)
    )


def _read(element: ET.Element) -> _System:
    system = _System()
    for number, measure in enumerate(_of_class(element, "measure")):
        for staff in _of_class(measure, "staff"):
            line = _POINTS.match(staff[0].get("d", "")) if len(staff) else None
            if line is None:
                continue
            system.right = max(system.right, float(line[3]))
            heads = [
                float(at[1])
                for head in _of_class(staff, "notehead")
                for use in head.iter(f"{_NS}use")
                if (at := _AT.match(use.get("transform", "")))
            ]
            if number and heads:
                system.squeezed |= min(heads) - float(line[1]) < _BEHIND_BAR
            for syllable in _of_class(staff, "syl"):
                _add_text(system, syllable)
    return system


def _add_text(system: _System, syllable: ET.Element) -> None:
    text = syllable.find(f"{_NS}text")
    if text is not None:
        shown = "".join(text.itertext()).replace("\N{THIN SPACE}", " ")
        hyphen = syllable.find(f"{_NS}rect") is not None
        found = _Text(float(text.get("x", "0")), shown, hyphen)
        system.lines.setdefault(float(text.get("y", "0")), []).append(found)


def _of_class(element: ET.Element, name: str) -> Iterator[ET.Element]:
    """Groups of that class, in the order of the drawing."""
    for group in element.iter(f"{_NS}g"):
        if group.get("class", "").partition(" ")[0] == name:
            yield group
