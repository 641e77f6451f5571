"""A story composed for a choir, as the text that a telling keeps. Slow enough for a thread."""

from __future__ import annotations

from bot.activities.choir import Choir
from bot.activities.reading import draw_seed
from bot.activities.story_json import set_story_to_json
from bot.service.content import Content
from bot.service.makings import Said, say_nothing
from bot.service.story_files import story_of
from bot.service.story_reading import STORY, ranges_for
from bot.service.story_setting import set_story


def set_for_choir(content: Content, story_id: str, choir: Choir, said: Said = say_nothing) -> str:
    """Compose a story for a choir's voices and freeze it; InputProblems says what is in the way.

    The music follows from story and choir alone: told again, it is the same story.
    """
    loaded = story_of(content, story_id)
    seed = draw_seed(choir.id, choir.starts_on, 0, f"{STORY}.{story_id}")
    ranges = ranges_for(loaded.story, choir, content)
    music = set_story(loaded, content, ranges, seed=seed, said=said)
    return set_story_to_json(music, loaded.text)
