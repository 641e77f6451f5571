"""A story told at home on Discord: the scene goes up once, a ballot from each linked seat."""

from dataclasses import replace
from datetime import UTC, datetime, time

import pytest

from bot.activities.story_run import Phase, Venue
from bot.privacy.approval import Activity
from bot.service.composing import Composing
from bot.service.content import load_content
from bot.service.deliver import Deliver
from bot.service.outlet import Outlets
from bot.service.stories import Stories
from bot.service.story_posting import StoryCards, StoryPosting
from bot.service.story_reading import STORY
from bot.service.story_votes import StoryVotes
from bot.service.tellings import Tellings
from bot.settings import content_root
from tests.chat.discord.seat_link import link, say
from tests.chat.discord.stage import StillClock, a_stage
from tests.service.seated import rows_of
from tests.service.test_tellings import SET
from tests.standin.person import finished

NINE = datetime(2025, 11, 24, 15, 0, tzinfo=UTC)
EVENING = datetime(2025, 11, 25, 3, 0, tzinfo=UTC)
NEXT = datetime(2025, 11, 25, 15, 0, tzinfo=UTC)
_ACTIVITIES = frozenset({Activity.TAPS, Activity.VOTES})
_FOR_THREE = replace(
    SET,
    lines={
        scene: replace(line, singers=((0, 1, 2),), do_octaves=((4, 3, 3),))
        for scene, line in SET.lines.items()
    },
)


class Tale:
    """The story side of a stage: told, voted and posted over the stage's database."""

    def __init__(self, stage):
        services, self.stage = stage.services, stage
        self.clock = services.clock
        content = load_content([content_root()])
        shared = {
            "database": stage.database,
            "choirs": services.choirs,
            "approvals": services.seating.approvals,
            "clock": services.clock,
            "changes": stage.changes,
        }
        self.tellings = Tellings(
            **shared,
            content=content,
            setting=lambda _id, _choir, _said: "set",
            frozen=lambda _text: _FOR_THREE,
        )
        self.votes = StoryVotes(**shared, tellings=self.tellings)
        cards = StoryCards(self.tellings, content)
        self.outlets = Outlets()
        composing = Composing(stage.database, content)
        deliver = Deliver(
            stage.database, composing, services.clock, content.wording, {STORY: cards.card}
        )
        self.posting = StoryPosting(
            tellings=self.tellings,
            choirs=services.choirs,
            composing=composing,
            deliver=deliver,
            outlets=self.outlets,
            clock=services.clock,
            changes=stage.changes,
        )
        stories = Stories(tellings=self.tellings, votes=self.votes, cards=cards)
        stage.services = replace(services, stories=stories)

    async def on(self, now):
        """Let it be a moment, and do what is due then."""
        self.clock._now = now
        await self.votes.round()
        return await self.posting.round()

    async def run(self):
        return (await self.tellings.now(self.stage.choir.id)).run


@pytest.fixture
async def stage(tmp_path):
    async with a_stage(tmp_path, now=NINE) as made:
        assert isinstance(made.services.clock, StillClock)
        await made.sign(made.choir, made.channel, activities=_ACTIVITIES)
        await made.seats(3)
        yield made


@pytest.fixture
async def tale(stage):
    told = Tale(stage)
    await told.tellings.begin(stage.choir.id, "mill", Venue.HOME, closes=time(20), quorum=1)
    return told


@pytest.fixture
async def up(stage, tale):
    async with stage.connected() as surface:
        tale.outlets.connect(surface)
        await tale.on(NINE)
        yield stage.posted()[0]


def _labels(message):
    return [one["label"] for one in message.buttons]


async def test_a_scene_goes_up_once_with_its_line_and_a_button_a_path(stage, tale, up):
    await tale.on(NINE)
    assert len(stage.posted()) == 1
    assert up.embed["title"] == "The mill"
    assert "The wheel stands still." in up.embed["description"]
    assert _labels(up)[:2] == ["do: to loft", "mi: to pond"]
    assert any(name.startswith("line") for name in up.files)


async def test_a_linked_seat_votes_privately_and_may_change_it(stage, tale, up):
    lark = stage.person("lark")
    await link(stage, lark, 1)
    for label in ("do: to loft", "mi: to pond"):
        told = await finished(await lark.press(up, label))
        assert told.only_for == lark.user.id
        assert told.embed["description"] == say(stage, "telling.voted")
    ((_, _, path),) = await rows_of(stage.database, "story_ballots")
    assert path == 1


async def test_without_a_seat_there_is_no_ballot(stage, tale, up):
    told = await finished(await stage.person("wren").press(up, "do: to loft"))
    assert told.embed["description"] == say(stage, "link.none")
    assert await rows_of(stage.database, "story_ballots") == []


async def test_the_story_goes_on_as_in_the_room_and_an_old_button_votes_for_nothing(
    stage, tale, up
):
    lark = stage.person("lark")
    await link(stage, lark, 1)
    await finished(await lark.press(up, "mi: to pond"))
    await tale.on(EVENING)
    assert (await tale.run()).phase is Phase.CHOSEN
    assert await rows_of(stage.database, "story_ballots") == []
    late = await finished(await lark.press(up, "do: to loft"))
    assert late.embed["description"] == say(stage, "telling.no_vote")

    await tale.on(NEXT)
    assert (await tale.run()).scenes == ("yard", "pond")
    assert len(stage.posted()) == 2
    newest = max(stage.posted(), key=lambda message: int(message.id))
    assert "You went this way: to pond." in newest.embed["description"]
    old = await finished(await lark.press(up, "do: to loft"))
    assert old.embed["description"] == say(stage, "telling.no_vote")


async def test_where_the_school_has_not_signed_no_scene_goes_up(stage, tale):
    async with stage.connected() as surface:
        tale.outlets.connect(surface)
        await stage.end_sheet()
        await tale.on(NINE)
    assert stage.posted() == []
