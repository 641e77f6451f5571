"""One staff size for all music of a print: a reader's eye need not change from page to page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.graphics.shapes import Drawing

from bot.notation.marks import SPACE
from bot.notation.pdf import readable_drawing

_UNLIKE = 1.03  # how much taller a system may be than the others of its picture
_ENGRAVED = "data-top="  # what only a picture of our own engraving has


@dataclass(frozen=True, slots=True, kw_only=True)
class Music:
    """A picture with its width and height in staff spaces, None where it is no music of ours.

    `systems` is how many systems it has.
    """

    drawing: Drawing
    spaces: tuple[float, float] | None
    systems: int = 1

    def scaled(self, space_pt: float, width_pt: float) -> Drawing:
        """The drawing, so large that staff spaces have that height, or that it has all the width.

        It is one drawing: what it was before is gone.
        """
        wide = width_pt if self.spaces is None else space_pt * self.spaces[0]
        scale = wide / self.drawing.width
        self.drawing.scale(scale, scale)
        self.drawing.width *= scale
        self.drawing.height *= scale
        return self.drawing


def music(svg: str) -> Music:
    """Read a picture; RenderFailed where it cannot be read."""
    drawing = readable_drawing(svg)
    if _ENGRAVED not in svg:
        return Music(drawing=drawing, spaces=None)
    box = svg.partition('viewBox="')[2].partition('"')[0].split()
    return Music(
        drawing=drawing,
        spaces=(float(box[2]) / SPACE, float(box[3]) / SPACE),
        systems=svg.count(_ENGRAVED),
    )


def height(pictures: Sequence[Music], space_pt: float, width_pt: float) -> float:
    """Height of pictures below one another, in points."""
    return sum(
        width_pt * each.drawing.height / each.drawing.width
        if each.spaces is None
        else space_pt * each.spaces[1]
        for each in pictures
    )


def common_space(
    pages: Sequence[tuple[Sequence[Music], float]], width_pt: float, least: float
) -> float:
    """The staff space in points that all pages share; each is its pictures and their room.

    The widest picture is as wide as the page, unless a page is too full for that: then all are
    smaller, but no smaller than `least` of it. A page that needs less goes on to the next instead,
    if it can with two systems on each.
    """
    widths = [each.spaces[0] for pictures, _ in pages for each in pictures if each.spaces]
    if not widths:
        return 0.0
    full = found = width_pt / max(widths)
    for pictures, room in pages:
        fits = _whole(pictures, room, width_pt, full)
        if fits < least * full:
            fits = _by_twos(pictures, room, full)
        if fits >= least * full:
            found = min(found, fits)
    return found


def _whole(pictures: Sequence[Music], room: float, width_pt: float, full: float) -> float:
    """The staff space at which all pictures of a page find room there."""
    others = height([each for each in pictures if each.spaces is None], 0.0, width_pt)
    spaces = sum(each.spaces[1] for each in pictures if each.spaces)
    return (room - others) / spaces if spaces else full


def _by_twos(pictures: Sequence[Music], room: float, full: float) -> float:
    """The staff space at which two systems stand on a page that else had one and much white."""
    tall = max((each.spaces[1] / each.systems for each in pictures if each.spaces), default=0.0)
    return room / (2 * _UNLIKE * tall) if tall * full * 2 > room else full
