"""A story of thirty scenes from its words: checked, composed with every end, engraved."""

from __future__ import annotations

import time
from dataclasses import replace

from bot.activities.story import Scene
from bot.activities.story_file import parse_story
from bot.media.render import make
from bot.service.content import load_content
from bot.service.story_book import picture_of
from bot.service.story_checking import check_loaded
from bot.service.story_files import LoadedStory, story_of
from bot.service.story_map import story_map_svg
from bot.service.story_setting import ranges_of, set_story
from tests.bench import median_s
from tests.fakes.world import CONTENT

_SCENES = 30


def run() -> dict[str, float]:
    """Seconds for the whole story and for one scene; checking and the map are medians."""
    content = load_content([CONTENT])
    loaded = thirty_scenes(story_of(content, "the-wrong-foghorn"), story_of(content, "nine-bells"))
    ranges = ranges_of(loaded.story.voices)
    checking = median_s(lambda: check_loaded(loaded, content), runs=3)
    start = time.perf_counter()
    told = set_story(loaded, content, ranges)
    composing = time.perf_counter() - start
    start = time.perf_counter()
    for music in (*told.lines.values(), *dict.fromkeys(told.finales.values())):
        make(picture_of(music, content))
    engraving = time.perf_counter() - start
    return {
        "30 scenes: composed, with an end for every way": composing,
        "30 scenes: checked": checking,
        "30 scenes: engraved, every line and every end": engraving,
        "a scene: composed, checked, engraved": (composing + checking + engraving) / _SCENES,
        "the map": median_s(lambda: story_map_svg(told.story, content.wording), runs=3),
        "reading the file": median_s(lambda: parse_story(loaded.text, "s", "s"), runs=3),
        "ways [1]": float(len(told.finales)),
    }


def thirty_scenes(one: LoadedStory, other: LoadedStory) -> LoadedStory:
    """A story of 23 scenes with the last seven scenes of another as more endings.

    Each new ending hangs on a scene that has two paths, on a syllable that is free there.
    """
    story, more = one.story, [s for s in other.story.scenes if s.ending]
    more += [s for s in other.story.scenes if not s.ending][-1:]
    free = {"do": 0, "mi": 2, "so": 4}
    scenes = list(story.scenes)
    open_scenes = [s for s in scenes if len(s.paths) == 2]
    for added, scene in zip(more[: _SCENES - len(scenes)], open_scenes, strict=False):
        new = replace(added, id=f"more-{added.id}", paths=())
        taken = {path.syllable.step for path in scene.paths}
        step = next(each for each in free.values() if each not in taken)
        first = scene.paths[0]
        path = replace(
            first,
            label=f"On to {new.id}",
            syllable=replace(first.syllable, step=step),
            next=new.id,
        )
        scenes[_place(scenes, scene)] = replace(scene, paths=(*scene.paths, path))
        scenes.append(new)
    return replace(one, story=replace(story, scenes=tuple(scenes)))


def _place(scenes: list[Scene], scene: Scene) -> int:
    return [each.id for each in scenes].index(scene.id)
