"""Many pictures on one page: what they have in common is drawn once, and put where it belongs.

Music signs and letters come again hundreds of times in a book of lines. Here each outline that
comes more than once is kept in one hidden drawing, and the pictures only name it. What a cursor
needs of a picture is left out: such a page has none.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping

_PICTURE = re.compile(r'<svg [^>]*fill="currentColor" stroke="none">.*?</svg>', re.DOTALL)
_SIGN = re.compile(
    r'<path transform="translate\((-?[\d.]+),(-?[\d.]+)\)(scale\([^)]*\))" d="([^"]*)"/>'
)
_STROKES = re.compile(r'(?:<path d="[^"]*"( stroke=[^>]*)/>)(?:<path d="[^"]*"\1/>)+')
_PATH = re.compile(r'd="([^"]*)"')
_UPRIGHT = re.compile(r"M(\S+) (\S+) L\1 (\S+)(?=[ \"])")
_LEVEL = re.compile(r"M(\S+) (\S+) L(\S+) \2(?=[ \"])")
_STROKE = re.compile(r'<path d="([^"]*)" stroke-width="([^"]*)"/>')
_CURSOR = re.compile(r' data-(?:part|note|box|top)="[^"]*"')
_BARE_GROUP = re.compile(r"<g>((?:(?!</?g).)*)</g>", re.DOTALL)
_BODY = re.compile(r"<body[^>]*>")
_Sign = tuple[str, str]  # its size and its outline


def with_shared_signs(page: str) -> str:
    """The same HTML page with one outline for each sign of its pictures; they look as before.

    Other drawings stay as they are. Equal input gives equal text.
    """
    pictures = "".join(_PICTURE.findall(page))
    counts = Counter((found[3], found[4]) for found in _SIGN.finditer(pictures))
    often = [sign for sign, count in counts.items() if count > 1]
    names = {sign: f"s{number}" for number, sign in enumerate(often)}
    page = _PICTURE.sub(lambda found: _slim(found[0], names), page)
    outlines = "".join(
        f'<path id="{name}" transform="{size}" d="{data}"/>' for (size, data), name in names.items()
    )
    kept = (
        f'<svg class="signs" width="0" height="0" aria-hidden="true"><defs>{outlines}</defs></svg>'
    )
    body = _BODY.search(page)
    return page if body is None else page[: body.end()] + kept + page[body.end() :]


def _slim(picture: str, names: Mapping[_Sign, str]) -> str:
    """A picture that names what it shares, and says once what all its strokes have in common."""

    def named(sign: re.Match[str]) -> str:
        x, y, size, data = sign.groups()
        name = names.get((size, data))
        return f'<use href="#{name}" x="{x}" y="{y}"/>' if name else sign[0]

    picture = _STROKES.sub(_joined, _SIGN.sub(named, picture))
    picture = _LEVEL.sub(r"M\1 \2H\3", _UPRIGHT.sub(r"M\1 \2V\3", picture))
    picture = _BARE_GROUP.sub(r"\1", _CURSOR.sub("", picture))
    # A stroke without width is none: what has a width of its own is drawn, all else only filled.
    inside = _of_one_pen(picture.replace(' stroke="currentColor"', ""))
    return inside.replace('stroke="none"', 'stroke="currentColor" stroke-width="0"', 1)


def _of_one_pen(picture: str) -> str:
    """A picture in which all strokes of one width are one path, behind everything else."""
    pens: dict[str, list[str]] = {}
    for data, width in _STROKE.findall(picture):
        pens.setdefault(width, []).append(data)
    strokes = "".join(
        f'<path d="{" ".join(data)}" stroke-width="{width}"/>' for width, data in pens.items()
    )
    begun, end, rest = _STROKE.sub("", picture).rpartition("</g></svg>")
    return begun + strokes + end + rest


def _joined(run: re.Match[str]) -> str:
    """Strokes of one pen, one after the other, as one path."""
    return f'<path d="{" ".join(_PATH.findall(run[0]))}"{run[1]}/>'
