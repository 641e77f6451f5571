"""The shelf of stories: the director's over the program's, kept whole, seen at once."""

import pytest

from bot.errors import Refused
from bot.service.content import load_content
from bot.service.story_files import story_of
from bot.service.story_shelf import StoryShelf, story_id
from tests.fakes.world import CONTENT


def test_a_directors_story_takes_the_place_of_ours_and_is_seen_at_once(tmp_path):
    content = load_content([CONTENT, tmp_path])
    text = content.stories["nine-bells"].read_text("utf-8")
    assert not content.stories.is_own("nine-bells")

    content.stories.keep("nine-bells", text.replace("Before the ninth bell", "Bells"))
    content.stories.keep("my-own", text)

    assert story_of(content, "nine-bells").story.title == "Bells"
    assert content.stories.is_own("nine-bells")
    assert len(content.stories) == 5
    assert sorted((tmp_path / "stories").iterdir()) == [
        tmp_path / "stories" / "my-own.toml",
        tmp_path / "stories" / "nine-bells.toml",
    ]


@pytest.mark.parametrize("name", ["", "../room", "a/b", "Nine", ".hidden", "a" * 60, "9-bells"])
def test_a_name_that_is_no_short_name_is_refused(name, tmp_path):
    with pytest.raises(Refused, match="no_name"):
        StoryShelf([CONTENT, tmp_path]).keep(name, "x")
    assert list(tmp_path.iterdir()) == []


def test_without_a_folder_of_the_directors_nothing_is_kept():
    with pytest.raises(Refused, match="no_folder"):
        StoryShelf([CONTENT]).keep("mine", "x")


def test_a_title_becomes_a_short_name():
    assert story_id("Who tuned the foghorn?") == "who-tuned-the-foghorn"
    assert story_id("9 Éclairs & 1 owl") == "eclairs-1-owl"
    assert story_id("???") == ""
