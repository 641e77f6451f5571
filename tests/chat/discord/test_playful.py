"""The playful readings on Discord: private, of the choir of the channel, no choice ever kept."""

from dataclasses import replace

import pytest

from bot.activities.way import Way
from bot.chat.discord.playful_work import WAYS
from bot.errors import Refused
from bot.service.mystery import Mystery
from bot.service.tune_book import called, placed_tunes
from tests.chat.discord.stage import ON
from tests.chat.house import a_card
from tests.service.test_mystery import content
from tests.standin.person import finished


@pytest.fixture
def say(stage):
    return stage.services.content.wording


@pytest.fixture
def lark(stage):
    return stage.person("lark")


async def _told(person, stage, line, **options):
    message = await finished(await person.run(stage.channel, line, **options))
    assert message.only_for == person.user.id
    return message


class OneTune:
    """One tune before the choir of the stage, to be named among four."""

    def __init__(self, stage):
        self.tunes = [placed.tune for placed in placed_tunes(content(), _sequence())[:4]]
        self.tune, self.told, self.guesses = self.tunes[2], None, []
        self.card = a_card(stage.choir, ON, reading_id="tune-1", text="A page.")
        self.choir = stage.choir

    async def latest(self, choir_id):
        return await self.find(choir_id, "tune-1") if choir_id == "c1" else None

    async def find(self, choir_id, reading_id):
        if (choir_id, reading_id) != ("c1", "tune-1"):
            raise Refused("reading.unknown")
        names = tuple(called(tune) for tune in self.tunes)
        return Mystery(card=self.card, choir=self.choir, names=names, on=ON, told=self.told)

    async def guess(self, choir_id, reading_id, name):
        return self.tune if name == called(self.tune) else None


def _sequence():
    return content().sequences["steps-first"]


@pytest.fixture
def before(stage):
    found = OneTune(stage)
    stage.services = replace(stage.services, play=replace(stage.services.play, mysteries=found))
    return found


async def test_a_film_of_ones_part_comes_with_what_to_mind(stage, surface, lark):
    stage.card()
    told = await _told(lark, stage, "/read film", part="Part II")
    assert list(told.files) == ["film-Part-II-2025-11-24.mp4"]
    for words in ("nothing is recorded", "it counts the same", "volume low", "Stop when it hurts"):
        assert words in told.embed["description"]
    assert len((await _told(lark, stage, "/read film")).files) == 1


@pytest.mark.parametrize("way", WAYS)
async def test_every_way_says_what_to_do_and_has_a_page(stage, surface, lark, say, way):
    stage.card()
    told = await _told(lark, stage, "/read way", way=say(f"way.name.{way}"))
    assert told.embed["title"] == say(f"way.name.{way}")
    assert told.embed["description"]
    assert told.embed["image"]["url"].partition("?")[0].endswith(".png")
    covered = [name for name in told.files if name.startswith("SPOILER_")]
    assert len(covered) == (1 if way is Way.RETROGRADE else 0)


async def test_ways_are_offered_and_another_word_is_answered_with_their_names(
    stage, surface, lark, say
):
    stage.card()
    offered = await lark.complete(stage.channel, "/read way", "way", "")
    assert offered == [say(f"way.name.{way}") for way in WAYS]
    told = await _told(lark, stage, "/read way", way="sideways")
    assert "From the right, Rhythm only" in told.embed["description"]


async def test_a_tune_is_named_by_a_button_and_only_one_name_is_right(stage, before, surface, lark):
    told = await _told(lark, stage, "/read tune")
    labels = [button["label"] for button in told.buttons]
    assert labels == [called(tune) for tune in before.tunes]
    assert before.tune.history not in str(told.body)
    for tune, label in zip(before.tunes, labels, strict=True):
        answer = await finished(await lark.press(told, label))
        assert answer.only_for == lark.user.id
        right = tune is before.tune
        assert (tune.history in answer.embed["description"]) is right
        assert ("Nothing of what you choose is kept." in answer.embed["description"]) is not right


async def test_once_the_class_was_told_the_tune_is_told_here_too(stage, before, surface, lark):
    before.told = before.tune
    told = await _told(lark, stage, "/read tune")
    assert before.tune.history in told.embed["description"]
    assert told.buttons == []


async def test_without_a_tune_it_says_so(stage, surface, lark, say):
    told = await _told(lark, stage, "/read tune")
    assert told.embed["description"] == say("tune.nothing")
