"""Where a drawing has ink already, so that what is put into it afterwards finds a free place."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass, field

_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


@dataclass(slots=True)
class Ink:
    """The boxes of what has been drawn, in units of the drawing, y downwards."""

    boxes: list[tuple[float, float, float, float]] = field(default_factory=list)

    def add(self, left: float, top: float, right: float, bottom: float) -> None:
        """Note a box that is taken."""
        self.boxes.append((left, top, right, bottom))

    def add_shape(self, element: ET.Element) -> None:
        """Note an SVG `path`, `polygon`, `rect` or `ellipse` that has absolute coordinates."""
        if element.get("rx"):
            x, y, rx, ry = (float(element.get(name, "0")) for name in ("cx", "cy", "rx", "ry"))
            self.add(x - rx, y - ry, x + rx, y + ry)
        elif element.get("width"):
            x, y, wide, high = (float(element.get(n, "0")) for n in ("x", "y", "width", "height"))
            self.add(x, y, x + wide, y + high)
        else:
            stated = element.get("d") or element.get("points") or ""
            numbers = [float(number) for number in _NUMBER.findall(stated)]
            if xs := numbers[::2]:
                self.add(min(xs), min(numbers[1::2]), max(xs), max(numbers[1::2]))

    def top(self, left: float, right: float) -> float | None:
        """The highest ink between two places from left to right; None where there is none."""
        tops = [top for begin, top, end, _ in self.boxes if begin < right and end > left]
        return min(tops, default=None)
