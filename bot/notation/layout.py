"""How many measures stand in a system, and how large the music is.

All lengths are in staff spaces, the distance between two staff lines. The picture's width is given,
so the fewer spaces it holds, the larger the music; readers sit in the last row or hold a phone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import accumulate

from bot.notation.lettering import Run, text_width
from bot.notation.marks import SPACE
from bot.notation.score import MeasureShape, Score

PHONE_WIDTH_PX = 360
PHONE_STAFF_PX = 28  # least height of a five-line staff on the phone, in CSS px


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """The width of the picture in staff spaces, and which measures begin a system.

    `breaks` are indices into the score's measures, 0 among them. `justify_last` says whether the
    last system is made as wide as the others, `fits` whether all has the room that it asks for.
    """

    spaces: float
    breaks: tuple[int, ...]
    justify_last: bool
    fits: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class _Page:
    """Measures in a system, the wish first, and the least and greatest width."""

    measures: tuple[int, ...]
    narrow: float
    wide: float


_PROJECTOR = _Page(measures=(4, 2, 1), narrow=46.0, wide=92.0)
_PHONE = _Page(measures=(2, 1), narrow=40.0, wide=4 * PHONE_WIDTH_PX / PHONE_STAFF_PX - 1)
_LARGE = _Page(measures=(2, 1), narrow=30.0, wide=46.0)
# Where many pictures stand on one sheet, the staves of all of them are of one height.
_SHEET = _Page(measures=(4, 2, 1), narrow=76.0, wide=76.0)
_LARGE_SHEET = _Page(measures=(2, 1), narrow=46.0, wide=46.0)
_CLEF, _SIGNATURE_SIGN, _TIME_SIGNATURE, _ACCIDENTAL = 4.0, 1.1, 2.5, 1.6
_BAR_LINE = 1.9
_EIGHTH, _LEAST = 2.0, 1.8  # room for an eighth, other lengths by their root; least for any
_BETWEEN_TEXTS = 1.5


def lay_out(
    score: Score,
    *,
    phone: bool,
    left: float,
    large: bool = False,
    one_a_line: bool = False,
    sheet: bool = False,
    letters: float = 0.0,
) -> Layout:
    """Choose systems and size for a score; `left` spaces stand before each staff.

    `large` has fewer measures in a system, `one_a_line` one. `sheet` gives every score the same
    size but on the phone. `letters` is the size of the texts under the notes, in units of the
    drawing.
    """
    usual, big = (_SHEET, _LARGE_SHEET) if sheet else (_PROJECTOR, _LARGE)
    page = _PHONE if phone else big if large or (sheet and one_a_line) else usual
    if one_a_line:
        page = replace(page, measures=(1,))
    opening = left + _CLEF + _SIGNATURE_SIGN * abs(score.key.fifths) + _TIME_SIGNATURE
    widths = [_width(measure, letters) for measure in score.measures]
    for per_system in page.measures:
        shares = _shares(len(widths), per_system, pickup=score.pickup)
        sizes = _halved(widths, shares, page.wide - opening)
        need = opening + max(_sums(widths, sizes))
        if need <= page.wide:
            break
    return Layout(
        spaces=min(max(need, page.narrow), page.wide),
        breaks=tuple(accumulate(sizes[:-1], initial=0)),
        justify_last=len(sizes) == 1 or sizes[-1] >= sizes[-2] - (score.pickup and len(sizes) == 2),
        fits=need <= page.wide,
    )


def _width(measure: MeasureShape, letters: float) -> float:
    texts = measure.texts or ((),) * len(measure.lengths)
    notes = sum(
        max(_EIGHTH * math.sqrt(8 * length), _LEAST, _text_room(under, letters))
        for length, under in zip(measure.lengths, texts, strict=True)
    )
    return _BAR_LINE + notes + _ACCIDENTAL * measure.accidentals


def _text_room(texts: tuple[str, ...], letters: float) -> float:
    """What the widest text of an onset needs up to the next."""
    widest = max((text_width((Run(text=text, size=letters),)) for text in texts), default=0.0)
    return widest / SPACE + _BETWEEN_TEXTS if widest else 0.0


def _shares(measures: int, per_system: int, *, pickup: bool) -> list[int]:
    """Share measures out evenly, longer systems first; a pickup joins the first system.

    >>> _shares(6, 4, pickup=False), _shares(5, 2, pickup=False), _shares(9, 4, pickup=True)
    ([3, 3], [2, 2, 1], [5, 4])
    """
    extra = 1 if pickup and measures > 1 else 0
    systems = math.ceil((measures - extra) / per_system)
    least, longer = divmod(measures - extra, systems)
    sizes = [least + (index < longer) for index in range(systems)]
    sizes[0] += extra
    return sizes


def _halved(widths: list[float], sizes: list[int], room: float) -> list[int]:
    """Halve the systems that are too wide, if any is not; one by one they are read on.

    >>> _halved([3.0, 3.0, 1.0, 1.0], [2, 2], 4.0), _halved([3.0] * 4, [2, 2], 4.0)
    ([1, 1, 2], [2, 2])
    """
    fits = [need <= room for need in _sums(widths, sizes)]
    if not any(fits):
        return sizes
    parts: list[int] = []
    for size, fit in zip(sizes, fits, strict=True):
        parts += [size] if fit or size == 1 else [size - size // 2, size // 2]
    return parts


def _sums(widths: list[float], sizes: list[int]) -> list[float]:
    """Sum the widths system by system."""
    ends = list(accumulate(sizes))
    return [sum(widths[end - size : end]) for end, size in zip(ends, sizes, strict=True)]
