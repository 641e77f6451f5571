"""The map of a story: a pencilled tree of bar-lined boxes, from the first scene to the endings.

Each scene is a measure: bar lines at its sides, a double bar at an ending, a fermata where a class
may stop. At the start of each path stands its syllable. What a class chose is drawn in ink, the
rest stays in pencil. Outlines in `currentColor`, no text, no font: safe in any page.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from itertools import pairwise

from bot.activities.story import Path, Scene, Story
from bot.music.syllable import spoken
from bot.notation.lettering import Run, fitted, music_glyph, outline, text_width
from bot.service.story_layout import MapLayout, Route, Spot, lay_out_story
from bot.wording import Wording

_FINE = 10  # units of the picture to a pixel, since outlines come in whole units
_WIDE, _HIGH = 190, 54  # a box, in pixels
_ACROSS, _DOWN = 300, 84  # from box to box
_MARGIN, _TITLE = 34, 58
_STUB, _APART = 30, 18  # a path's level start, with its syllable above; from path to path
_NAME, _LINE, _SYLLABLE, _HEADING = 19, 14, 15, 28  # sizes of letters
_PENCIL, _FAINT = 0.72, 0.34
_FERMATA = "E4C0"


def story_map_svg(story: Story, say: Wording, walked: Sequence[str] = ()) -> str:
    """Draw a story; `walked` are scene ids in the order in which a class came by them."""
    layout = lay_out_story(story)
    width = 2 * _MARGIN + (layout.layers - 1) * _ACROSS + _WIDE
    height = 2 * _MARGIN + _TITLE + (layout.rows - 1) * _DOWN + _HIGH
    steps, places = set(pairwise(walked)), _places(layout)
    body = [_title(story, say)]
    for route in layout.routes:
        path = story.scene(route.scene).paths[route.number]
        inked = (route.scene, path.next) in steps
        place = places[route.scene, route.number]
        body.append(_path(route, path, place, inked=inked, faint=bool(walked) and not inked))
    drawn: set[str] = set()
    for scene in story.scenes:
        if scene.id not in drawn:
            drawn.add(scene.id)
            body.append(_scene(scene, layout, walked))
    size = f"{_u(width)} {_u(height)}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size}" width="{round(width)}" '
        f'height="{round(height)}" fill="currentColor" stroke="none">{"".join(body)}</svg>'
    )


def _u(pixels: float) -> int:
    return round(pixels * _FINE)


def _corner(spot: Spot) -> tuple[float, float]:
    """Left and top of a box."""
    return _MARGIN + spot.layer * _ACROSS, _MARGIN + _TITLE + spot.row * _DOWN


def _title(story: Story, say: Wording) -> str:
    facts = say("story.map.facts", scenes=len(story.scenes), endings=len(story.endings))
    heading = outline((_run(story.title, _HEADING),), _u(_MARGIN), _u(_MARGIN + 20))
    after = _MARGIN + text_width((_run(story.title, _HEADING),)) / _FINE + 22
    beside = outline((_run(facts, _SYLLABLE),), _u(after), _u(_MARGIN + 20))
    return f'<path d="{heading}"/><path d="{beside}" opacity="{_PENCIL}"/>'


def _run(text: str, size: float) -> Run:
    return Run(text=text, size=_u(size))


def _scene(scene: Scene, layout: MapLayout, walked: Collection[str]) -> str:
    """A box with bar lines, the scene's name and the first words of its line."""
    x, y = _corner(layout.spots[scene.id])
    inked = scene.id in walked
    opacity = 1.0 if inked or not walked else _PENCIL
    bars = [(x, 3.2 if inked else 1.6), (x + _WIDE, 3.2 if inked else 1.6)]
    if scene.ending:
        bars = [bars[0], (x + _WIDE - 8, 1.6), (x + _WIDE - 1.5, 5.0)]
    strokes = [_rect(at - thick / 2, y, thick, _HIGH) for at, thick in bars]
    strokes += [_rect(x, y + edge, _WIDE, 0.8) for edge in (0, _HIGH - 0.8)]
    room = _u(_WIDE - 26)
    name = fitted(scene.id.replace("-", " "), _u(_NAME), room)
    sung = scene.line.words if scene.line else ""
    letters = outline((Run(text=name, size=_u(_NAME)),), _u(x + 12), _u(y + 23))
    words = fitted(sung.replace("-", "").replace("^", ""), _u(_LINE), room)
    under = outline((Run(text=words, size=_u(_LINE)),), _u(x + 12), _u(y + 42))
    shape = f'<path d="{"".join(strokes)}{letters}"/><path d="{under}" opacity="{_PENCIL}"/>'
    return f'<g opacity="{opacity:g}">{shape}{_stop(scene, x, y)}</g>'


def _stop(scene: Scene, x: float, y: float) -> str:
    """A fermata over the right corner of a scene after which a class may stop."""
    if not scene.stop:
        return ""
    at = f"translate({_u(x + _WIDE - 24)} {_u(y - 5)}) scale(0.22 -0.22)"
    return f'<path transform="{at}" d="{music_glyph(_FERMATA)}"/>'


def _rect(x: float, y: float, width: float, height: float) -> str:
    return f"M{_u(x)} {_u(y)}h{_u(width)}v{_u(height)}h{-_u(width)}z"


def _places(layout: MapLayout) -> dict[tuple[str, int], int]:
    """The order in which the paths of a scene leave its box, by where they lead."""
    places: dict[tuple[str, int], int] = {}
    for scene in layout.spots:
        own = [route for route in layout.routes if route.scene == scene]
        own.sort(key=lambda route: (route.back, route.spots[1].row))
        places |= {(scene, route.number): place for place, route in enumerate(own)}
    return places


def _path(route: Route, path: Path, place: int, *, inked: bool, faint: bool) -> str:
    """A pencil line from box to box with its syllable at the start."""
    start, end = _ends(route, place)
    line = _under(start, end) if route.back else _along(route, start, end)
    opacity = 1.0 if inked else _FAINT if faint else _PENCIL
    width = 3.2 if inked else 1.4
    dashes = f' stroke-dasharray="{_u(7)} {_u(5)}"' if route.back else ""
    syllable = spoken(path.syllable)
    letters = outline((_run(syllable, _SYLLABLE),), _u(start[0] + 7), _u(start[1] - 3))
    tip = _tip(end)
    return (
        f'<g opacity="{opacity:g}"><path d="{line}" fill="none" stroke="currentColor" '
        f'stroke-width="{_u(width)}" stroke-linecap="round"{dashes}/>'
        f'<path d="{letters}{tip}"/></g>'
    )


def _ends(route: Route, place: int) -> tuple[tuple[float, float], tuple[float, float]]:
    """Where a path leaves its box, by its place among the paths there, and where it arrives."""
    x, y = _corner(route.spots[0])
    to_x, to_y = _corner(route.spots[-1])
    leave = y + _APART * (place + 0.75)
    if route.back:
        return (x + _WIDE, leave), (to_x + _WIDE / 2, to_y + _HIGH + 2)
    return (x + _WIDE, leave), (to_x - 3, to_y + _HIGH / 2)


def _along(route: Route, start: tuple[float, float], end: tuple[float, float]) -> str:
    """Curves from layer to layer, level where they pass one."""
    points = [(start[0] + _STUB, start[1])]
    for spot in route.spots[1:-1]:
        x, y = _corner(spot)
        points += [(x, y + _HIGH / 2), (x + _WIDE, y + _HIGH / 2)]
    points.append(end)
    drawn = f"M{_u(start[0])} {_u(start[1])}h{_u(_STUB)}"
    for (x, y), (to_x, to_y) in pairwise(points):
        bend = (to_x - x) / 2
        drawn += f"C{_u(x + bend)} {_u(y)} {_u(to_x - bend)} {_u(to_y)} {_u(to_x)} {_u(to_y)}"
    return drawn


def _under(start: tuple[float, float], end: tuple[float, float]) -> str:
    """A path back: out to the right, under the boxes, up to the scene from below."""
    (x, y), (to_x, to_y) = start, end
    low = max(y, to_y) + 34
    return (
        f"M{_u(x)} {_u(y)}C{_u(x + 60)} {_u(y)} {_u(x + 30)} {_u(low)} {_u(x - 40)} {_u(low)}"
        f"C{_u(to_x + 60)} {_u(low)} {_u(to_x)} {_u(low)} {_u(to_x)} {_u(to_y)}"
    )


def _tip(end: tuple[float, float]) -> str:
    """A small dot where a path arrives, as a pencil makes it."""
    x, y = end
    radius = 3
    return (
        f"M{_u(x - radius)} {_u(y)}a{_u(radius)} {_u(radius)} 0 1 0 {_u(2 * radius)} 0"
        f"a{_u(radius)} {_u(radius)} 0 1 0 {-_u(2 * radius)} 0z"
    )


def scene_list(story: Story, say: Wording) -> Iterator[str]:
    """The map in words, a scene a line."""
    for scene in story.scenes:
        if scene.ending:
            yield say("story.map.ending", scene=scene.id)
            continue
        ways = ", ".join(
            say("story.map.path", syllable=spoken(path.syllable), label=path.label, scene=path.next)
            for path in scene.paths
        )
        yield say("story.map.scene", scene=scene.id, paths=ways)
