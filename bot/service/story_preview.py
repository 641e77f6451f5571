"""A look at a story's music before it is told: a picture of every line and every end."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from bot.activities.story_music import SetStory
from bot.media.render import make
from bot.media.request import Engraved
from bot.service.content import Content
from bot.service.story_book import picture_of
from bot.service.story_map import story_map_svg


def write_preview(told: SetStory, content: Content, folder: Path) -> Iterator[Path]:
    """Write map and pictures into a folder; the files' paths, each when it is written."""
    folder.mkdir(parents=True, exist_ok=True)
    drawing = folder / "map.svg"
    drawing.write_text(story_map_svg(told.story, content.wording), encoding="utf-8")
    yield drawing
    for scene, line in told.lines.items():
        picture = replace(picture_of(line, content), kind=Engraved.PNG)
        yield _written(folder / f"line-{scene}.png", make(picture))
    seen: set[tuple[str, ...]] = set()
    for way, finale in told.finales.items():
        ends = (way[-1], *finale.scenes)
        if ends not in seen:
            seen.add(ends)
            picture = replace(picture_of(finale, content), kind=Engraved.PNG)
            name = "-and-".join(scene or "held" for scene in finale.scenes)
            yield _written(folder / f"end-{way[-1]}-{name}.png", make(picture))


def _written(path: Path, data: bytes) -> Path:
    path.write_bytes(data)
    return path
