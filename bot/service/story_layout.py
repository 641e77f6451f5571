"""Where the scenes of a story lie on its map: layers from left to right, few paths that cross.

Layers are those of the longest way to a scene; within a layer igraph orders and places the scenes
(Sugiyama's method). A path that passes a layer has a place there too, so that it can be drawn
around the scenes. Paths that lead back are left out of the reckoning and drawn under the map.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from bot.activities.story import Story

_ROUNDS = 400  # of the heuristic that uncrosses paths


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A place: the layer from 0, and the row in units of a row's height, from 0 downwards."""

    layer: int
    row: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Route:
    """One path: its scene, its number there, the places that it passes, both ends included."""

    scene: str
    number: int
    spots: tuple[Spot, ...]
    back: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MapLayout:
    """Places of the scenes that exist, and the routes between them."""

    spots: Mapping[str, Spot]
    routes: tuple[Route, ...]
    layers: int
    rows: float


def lay_out_story(story: Story) -> MapLayout:
    """Place every scene once and every path to a scene that exists."""
    import igraph  # slow to import, and hardly ever needed

    names = list(dict.fromkeys(scene.id for scene in story.scenes))
    links = [
        (scene.id, number, path.next)
        for scene in story.scenes
        for number, path in enumerate(scene.paths)
        if path.next in names
    ]
    layer, back = _layers(story, names, links)
    vertices = [layer[name] for name in names]
    edges: list[tuple[int, int]] = []
    chains: list[list[int]] = []
    for scene, number, following in links:
        chain = [names.index(scene)]
        if (scene, number) not in back:
            for between in range(layer[scene] + 1, layer[following]):
                vertices.append(between)
                chain.append(len(vertices) - 1)
        chain.append(names.index(following))
        chains.append(chain)
        if (scene, number) not in back:
            edges += pairwise(chain)
    graph = igraph.Graph(n=len(vertices), edges=edges, directed=True)
    placed = graph.layout_sugiyama(layers=vertices, hgap=1, vgap=1, maxiter=_ROUNDS)
    rows = _apart(vertices, [x for x, _ in placed])
    top = min(rows)
    spots = [Spot(layer=n, row=row - top) for n, row in zip(vertices, rows, strict=True)]
    return MapLayout(
        spots={name: spots[number] for number, name in enumerate(names)},
        routes=tuple(
            Route(
                scene=scene,
                number=number,
                spots=tuple(spots[vertex] for vertex in chain),
                back=(scene, number) in back,
            )
            for (scene, number, _), chain in zip(links, chains, strict=True)
        ),
        layers=max(vertices) + 1,
        rows=max(spot.row for spot in spots) + 1,
    )


def _apart(layers: Sequence[int], rows: Sequence[float]) -> list[float]:
    """Rows with a whole one at least between places of a layer; the heuristic may leave less."""
    moved, last = list(rows), dict[int, float]()
    for vertex in sorted(range(len(rows)), key=lambda each: rows[each]):
        layer = layers[vertex]
        if layer in last:
            moved[vertex] = max(moved[vertex], last[layer] + 1)
        last[layer] = moved[vertex]
    return moved


def _layers(
    story: Story, names: list[str], links: list[tuple[str, int, str]]
) -> tuple[dict[str, int], set[tuple[str, int]]]:
    """The longest way to each scene in paths, and the paths that lead back to a scene before."""
    after: dict[str, list[tuple[int, str]]] = {name: [] for name in names}
    for scene, number, following in links:
        after[scene].append((number, following))
    back: set[tuple[str, int]] = set()
    order: list[str] = []
    state: dict[str, bool] = {}  # False while the scenes after it are visited

    def visit(name: str) -> None:
        state[name] = False
        for number, following in after[name]:
            if following not in state:
                visit(following)
            elif not state[following]:
                back.add((name, number))
        state[name] = True
        order.append(name)

    for name in [story.start, *names]:
        if name in after and name not in state:
            visit(name)
    layer = dict.fromkeys(names, 0)
    for name in reversed(order):
        for number, following in after[name]:
            if (name, number) not in back:
                layer[following] = max(layer[following], layer[name] + 1)
    return layer, back
