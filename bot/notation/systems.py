"""A picture cut between its systems, for paper on which the whole would be too small to read."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

from bot.notation.marks import SPACE

_NS = "http://www.w3.org/2000/svg"
_GROUP = f"{{{_NS}}}g"
_ABOVE = 4.5 * SPACE  # what a system has above its top line: measure numbers, high notes
_PLACED = re.compile(r"translate\((-?[\d.]+), ?(-?[\d.]+)\)")


def systems(svg: str) -> tuple[str, ...]:
    """One picture for each system of a picture that `engrave.svg` made, as wide as the whole.

    Put below one another without a gap they are the whole again. A picture of one system, or one
    that was not engraved here, comes back as it is.
    """
    root = ET.fromstring(svg)  # noqa: S314 - drawn by this program
    margin = root.find(_GROUP)
    rows = [] if margin is None else [row for row in margin if row.get("data-top")]
    if margin is None or len(rows) < 2:
        return (svg,)
    placed = _PLACED.match(margin.get("transform", ""))
    down = float(placed[2]) if placed else 0.0
    _, _, width, height = (float(number) for number in root.get("viewBox", "").split())
    edges = [0.0]
    edges += [down + float(row.get("data-top", "0")) - _ABOVE for row in rows[1:]]
    edges.append(height)
    scale = float(root.get("width", str(width))) / width
    return tuple(
        _cut(root, margin, row, (width, top, bottom), scale)
        for row, top, bottom in zip(rows, edges, edges[1:], strict=False)
    )


def _cut(
    root: ET.Element,
    margin: ET.Element,
    row: ET.Element,
    box: tuple[float, float, float],
    scale: float,
) -> str:
    """One system in a picture of its own; `box` is (width, top, bottom) in the picture's units."""
    width, top, bottom = box
    size = {"width": f"{width * scale:g}", "height": f"{(bottom - top) * scale:g}"}
    shape = {name: root.get(name, "") for name in ("fill", "stroke")}
    whole = ET.Element("svg", {"viewBox": f"0 0 {width:g} {bottom - top:g}", **size, **shape})
    raised = ET.SubElement(whole, "g", {"transform": f"translate(0,{-top:g})"})
    ET.SubElement(raised, "g", {"transform": margin.get("transform", "")}).append(row)
    text = ET.tostring(whole, encoding="unicode").replace("ns0:", "").replace(":ns0", "")
    # Groups carry the namespace already; the picture's own element needs it too.
    return text if f'xmlns="{_NS}"' in text else text.replace("<svg", f'<svg xmlns="{_NS}"', 1)
