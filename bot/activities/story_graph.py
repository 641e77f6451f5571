"""Whether the scenes of a story hang together: every scene reached, every path ends.

Also what the vote asks of the graph: two or three paths with different syllables, and one syllable
into each scene, since it is the first note of the line there.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from bot.activities.story import Path, Scene, Story, tellings
from bot.activities.story_finding import Finding, fault
from bot.music.exercise import Tone
from bot.music.pitch import Key
from bot.music.syllable import spoken

_PATHS = (2, 3)


def graph_findings(story: Story) -> Iterator[Finding]:
    """Everything wrong with scenes and paths, but for their texts and music."""
    yield from _names(story)
    after = {scene.id: tuple(path.next for path in scene.paths) for scene in story.scenes}
    yield from _ends(story, after)
    yield from _votes(story)
    yield from _syllables(story)
    yield from _keys(story)


def _names(story: Story) -> Iterator[Finding]:
    for scene_id, often in Counter(scene.id for scene in story.scenes).items():
        if often > 1:
            places = [scene.place for scene in story.scenes if scene.id == scene_id]
            for place in places[1:]:
                problem = f"a second scene {scene_id!r}"
                yield fault(place, problem, "give it another id")
    known = ", ".join(scene.id for scene in story.scenes)
    if not story.has(story.start):
        yield fault(story.at("start"), f"there is no scene {story.start!r}", f"one of {known}")
    for _, path in story.all_paths():
        if not story.has(path.next):
            yield fault(path.place, f"leads to {path.next!r}, which is no scene", f"one of {known}")


def _ends(story: Story, after: Mapping[str, tuple[str, ...]]) -> Iterator[Finding]:
    """Scenes that no path reaches, and scenes from which no path leads to an ending."""
    if not story.has(story.start):
        return
    reached = reachable(after, [story.start])
    before: dict[str, list[str]] = {scene_id: [] for scene_id in after}
    for scene_id, nexts in after.items():
        for each in nexts:
            before.setdefault(each, []).append(scene_id)
    lost = {each for nexts in after.values() for each in nexts if each not in after}
    endings = [scene.id for scene in story.endings]
    way_out = reachable(before, [*endings, *lost])
    for scene in story.scenes:
        if scene.id not in reached:
            yield fault(
                scene.place, f"no path leads to {scene.id!r}", "lead one there or remove it"
            )
        if scene.id not in way_out:
            problem = f"from {scene.id!r} the story never ends"
            yield fault(scene.place, problem, "give the loop a path to an ending")


def reachable(after: Mapping[str, tuple[str, ...] | list[str]], start: list[str]) -> set[str]:
    """Everything that can be reached, what one starts from included."""
    found, waiting = set(start), list(start)
    while waiting:
        for each in after.get(waiting.pop(), ()):
            if each not in found:
                found.add(each)
                waiting.append(each)
    return found


def _votes(story: Story) -> Iterator[Finding]:
    for scene in story.scenes:
        if scene.paths and len(scene.paths) not in _PATHS:
            problem = f"{len(scene.paths)} paths from {scene.id!r}"
            yield fault(scene.place, problem, "two or three, or none at an ending")
        if scene.paths and scene.finale is not None:
            problem = f"a finale at {scene.id!r}, where the story goes on"
            yield fault(scene.at("finale"), problem, "finales belong to endings")
        yield from _twice(scene)


def _twice(scene: Scene) -> Iterator[Finding]:
    """Paths of one vote that cannot be told apart."""
    syllables: set[Tone] = set()
    labels: set[str] = set()
    scenes: set[str] = set()
    for path in scene.paths:
        label = path.label.casefold()
        if path.syllable in syllables:
            problem = f"a second path on {spoken(path.syllable)}"
            yield fault(path.place, problem, "each path of a vote has a syllable of its own")
        elif path.next in scenes:
            problem = f"a second path to {path.next!r}"
            yield fault(path.place, problem, "lead each path to a scene of its own")
        if label in labels:
            yield fault(path.place, f"a second path {path.label!r}", "write another label")
        syllables.add(path.syllable)
        labels.add(label)
        scenes.add(path.next)


def _syllables(story: Story) -> Iterator[Finding]:
    """A scene has one line, so all paths to it start it on one syllable."""
    first: dict[str, Path] = {}
    for _, path in story.all_paths():
        if not story.has(path.next) or story.scene(path.next).line is None:
            continue
        known = first.setdefault(path.next, path)
        if known.syllable != path.syllable:
            problem = (
                f"leads to {path.next!r} on {spoken(path.syllable)}, "
                f"where another path leads on {spoken(known.syllable)}"
            )
            yield fault(path.place, problem, "lead every path to a scene on one syllable")


def _keys(story: Story) -> Iterator[Finding]:
    """Along every way all lines are in one key, or its end could not be stacked from them."""
    before: dict[str, set[Key | None]] = {scene.id: set() for scene in story.scenes}
    waiting = list(story.scenes)
    while waiting:
        scene = waiting.pop()
        own = {story.key_of(scene)} if scene.line is not None else set()
        for path in scene.paths:
            if path.next in before and not before[path.next].issuperset(before[scene.id] | own):
                before[path.next] |= before[scene.id] | own
                waiting.append(story.scene(path.next))
    for scene in story.scenes:
        own_key = story.key_of(scene)
        others = [key for key in before[scene.id] if key != own_key]
        if scene.line is not None and others:
            problem = f"{scene.id!r} is in {_named(own_key)} on a branch in {_named(others[0])}"
            yield fault(scene.at("key"), problem, "one key along a branch")


def _named(key: Key | None) -> str:
    return "the composer's key" if key is None else key.plain


def finale_findings(story: Story) -> Iterator[Finding]:
    """Whether every telling has the lines that its finale is made of."""
    try:
        ways = tellings(story)
    except ValueError as error:
        yield fault(story.place, str(error), "fewer paths, or fewer loops")
        return
    sung = {scene.id for scene in story.scenes if scene.line is not None}
    told: set[str] = set()
    for way in ways:
        ending = story.scene(way[-1])
        finale = story.finale_of(ending)
        lines = len({scene for scene in way if scene in sung})
        place = ending.at("finale")
        if ending.id in told:
            continue
        needed = 1 if finale.new_part else finale.parts
        if lines < needed:
            told.add(ending.id)
            problem = f"only {lines} sung on the way {' > '.join(way)}: the finale needs {needed}"
            yield fault(place, problem, "write lines for more scenes, or finale = 1")
        elif finale.against and (finale.against not in sung or finale.against not in way):
            told.add(ending.id)
            problem = f"no line of {finale.against!r} on the way {' > '.join(way)}"
            yield fault(place, problem, "name a scene with a line that every way passes")
