"""What Riserbell sets beside the staves: part labels and the mark that says where do is.

The mark is the choir's word for do and a wedge that points at its line or space, in a column left
of the staff, once a system, like a clef. It never stands among the notes.
"""

from __future__ import annotations

from dataclasses import dataclass

from bot.notation.lettering import Run, letters, text_width
from bot.notation.score import Staff

SPACE = 180.0  # a staff space in the units of verovio's drawing
_X_HEIGHT = 0.475  # of the em, Source Serif
_CAPITALS = 0.67  # of the em, Source Serif
_WEDGE = 1.1 * SPACE  # length and height of the wedge
_GAP = 0.3 * SPACE


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """What stands beside and above the staves, sizes in units of verovio's drawing.

    `labels` holds one text a staff, empty for none; `do_name` empty leaves the do mark out;
    `letters` is the size of words, `numbers` that of measure numbers (0 for none), `bracket` the
    room for a bracket, `under` the size of texts under the notes.
    """

    labels: tuple[str, ...]
    do_name: str
    do_is_tonic: bool
    letters: float
    numbers: float
    bracket: float
    under: float = 0.0

    @property
    def label_width(self) -> float:
        """Room for the labels, 0 where there are none."""
        widest = max(map(self._width, self.labels), default=0.0)
        return widest + 2 * _GAP if widest else 0.0

    @property
    def do_width(self) -> float:
        """Room for the do mark, 0 where there is none."""
        return self._width(self.do_name) + _WEDGE + 3 * _GAP if self.do_name else 0.0

    @property
    def width(self) -> float:
        """Room left of the staves."""
        return self.label_width + self.do_width + self.bracket

    def _width(self, text: str) -> float:
        return text_width((Run(text=text, size=self.letters),))


def beside(marks: Marks, staff: Staff, label: str, left: float, bottom: float) -> str:
    """Return SVG of what stands left of a staff at a system's beginning.

    `left` is the staff's left end, `bottom` the height of its lowest line.
    """
    at = left - marks.bracket - _GAP
    drawn = []
    do = staff.tonic if marks.do_is_tonic else staff.do
    if marks.do_name and do is not None:
        y = bottom - (do - staff.bottom) * SPACE / 2
        drawn.append(
            f'<path d="M{at:.0f} {y:.0f}L{at - _WEDGE:.0f} {y - _WEDGE / 2:.0f}'
            f'V{y + _WEDGE / 2:.0f}Z"/>'
        )
        runs = (Run(text=marks.do_name, size=marks.letters),)
        drawn.append(letters(runs, at - _WEDGE - _GAP, y + _X_HEIGHT * marks.letters / 2, "end"))
    if label:
        runs = (Run(text=label, size=marks.letters),)
        middle = bottom - 2 * SPACE + _CAPITALS * marks.letters / 2
        drawn.append(letters(runs, left - marks.bracket - marks.do_width - _GAP, middle, "end"))
    return "".join(drawn)
