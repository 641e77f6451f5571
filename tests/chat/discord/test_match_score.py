"""The score of a match as a card on Discord: asked for, posted once and changed; nobody's name."""

from dataclasses import dataclass, replace
from datetime import timedelta

import pytest

from bot.activities.match_call import Call
from bot.activities.match_rules import CardWhen, Rules
from bot.service.composing import Composing
from bot.service.content import load_content
from bot.service.deliver import Deliver
from bot.service.match_lines import SLOT
from bot.service.match_values import MatchSum
from bot.service.matches import Matches
from bot.service.outlet import Outlets
from bot.service.score_posting import ScoreCards, ScorePosting
from bot.settings import content_root
from tests.chat.discord.stage import NOW, ON, a_stage
from tests.fakes.matches import plant_match
from tests.standin.faults import Fault, Kind
from tests.standin.person import finished
from tests.standin.world import NONCE_WINDOW_S

TURN = ("study", "read", "phrase-2", "phrase-2", "on", "thrown-1")
MESSAGES = "/channels/{channel_id}/messages"
LONG_AFTER = timedelta(minutes=30)
JOINT = ("study", "read", "phrase-2", "phrase-1")


@dataclass
class TodaysMatch:
    """The service's answer, as a test wants it."""

    score: MatchSum | None

    async def score_today(self, choir_id: str) -> MatchSum | None:
        return self.score if choir_id == "c1" else None


def a_score(**changes: object) -> MatchSum:
    score = MatchSum(
        id="m1",
        on=ON,
        number=3,
        ended=False,
        left_name="Left page",
        right_name="Right page",
        left=12,
        right=9,
    )
    return replace(score, **changes)


async def told(stage, line="/read score"):
    person = stage.person("lark")
    async with stage.connected():
        message = await finished(await person.run(stage.channel, line, allowed=True))
    assert message.only_for == person.user.id
    return message.embed


@pytest.mark.parametrize(
    ("ended", "line"),
    [
        (False, "Left page 12, Right page 9, and it goes on."),
        (True, "Left page 12, Right page 9. Well read, both pages."),
    ],
)
async def test_the_score_of_today_is_told_by_pages(stage, ended, line):
    stage.services = replace(stage.services, matches=TodaysMatch(a_score(ended=ended)))
    card = await told(stage)
    assert card["title"].endswith("· Match")
    assert card["description"] == line


async def test_without_a_match_today_it_says_so(stage, wording):
    stage.services = replace(stage.services, matches=TodaysMatch(None))
    assert (await told(stage))["description"] == wording("match.none_today")


class Play:
    """A match over the stage's database, and its card's way to the channel."""

    def __init__(self, stage):
        services, database = stage.services, stage.database
        content = load_content([content_root()])
        self.matches = Matches(database, services.choirs, content, services.clock, stage.changes)
        cards = ScoreCards(database, self.matches, content)
        composing = Composing(database, content)
        self.outlets = Outlets()
        self.posting = ScorePosting(
            cards=cards,
            choirs=services.choirs,
            deliver=Deliver(
                database, composing, services.clock, content.wording, {SLOT: cards.card}
            ),
            outlets=self.outlets,
            clock=services.clock,
            changes=stage.changes,
        )
        self.stage, self.match_id = stage, ""
        stage.services = replace(services, matches=self.matches)

    async def begin(self, card):
        rules = Rules(card=card)
        self.match_id = await plant_match(self.stage.database, rules, choir_id="c1", on=ON)

    async def call(self, *calls):
        seen = (await self.matches.find(self.match_id)).revision
        for number, text in enumerate(calls):
            await self.matches.call(self.match_id, Call.parse(text), seen + number)
        return await self.posting.round()


@pytest.fixture
async def play(tmp_path, monkeypatch):
    monkeypatch.setattr("bot.chat.discord.posting._PAUSES_S", (0.05, 0.05, 0.05))
    async with a_stage(tmp_path, now=NOW) as stage:
        stage.discord.limits.switched_on = False  # what is counted is messages, not their pace
        yield Play(stage)


def up(play):
    return [one.embed["description"] for one in play.stage.posted()]


async def test_the_score_goes_up_after_a_turn_and_the_same_message_says_the_end(play):
    await play.begin(CardWhen.TURNS)
    async with play.stage.connected() as surface:
        play.outlets.connect(surface)
        assert await play.call(*TURN) is None
        (message,) = play.stage.posted()
        assert message.embed["title"].endswith("· Match")
        assert message.embed["description"].endswith("and it goes on.")
        assert [button["label"] for button in message.buttons] == ["Matches of this term"]
        await play.call(*TURN[:4])
        assert len(message.edits) == 0
        await play.call(*TURN[4:], *JOINT)
        await play.call()
    assert up(play) == ["Left page 8, Right page 8. Well read, both pages."]
    assert len(message.edits) == 1
    assert [button["label"] for button in message.buttons] == ["Matches of this term"]


async def test_neither_the_card_nor_its_change_can_ping_anybody(play):
    await play.begin(CardWhen.TURNS)
    async with play.stage.connected() as surface:
        play.outlets.connect(surface)
        await play.call(*TURN)
        await play.call(*TURN, *JOINT)
    (posted,) = play.stage.discord.calls("POST", MESSAGES)
    (changed,) = play.stage.discord.calls("PATCH", f"{MESSAGES}/{{message_id}}")
    for sent in (posted, changed):
        assert sent.body["allowed_mentions"] == {"parse": []}
        assert not sent.body.get("content")


async def test_the_button_tells_the_term_to_whoever_asks(play):
    await play.begin(CardWhen.END)
    reader = play.stage.person("lark")
    async with play.stage.connected() as surface:
        play.outlets.connect(surface)
        await play.call(*TURN * 2, *JOINT)
        answer = await finished(await reader.press(play.stage.posted()[0], "Matches of this term"))
    assert answer.only_for == reader.user.id
    assert "Nov 24: Left page 8, Right page 8." in answer.embed["description"]
    assert "1 match, 16 points" in answer.embed["description"]


@pytest.mark.parametrize("signed", [False, True], ids=["not linked", "linked and not signed"])
async def test_without_link_and_signature_nothing_goes_up(tmp_path, signed):
    async with a_stage(tmp_path, now=NOW, linked=False) as stage:
        if signed:
            await stage.link(signed=False)
        play = Play(stage)
        await play.begin(CardWhen.TURNS)
        async with stage.connected() as surface:
            play.outlets.connect(surface)
            assert await play.call(*TURN * 2, *JOINT) is None
        assert stage.posted() == []


async def test_a_sheet_that_is_taken_away_leaves_the_card_as_it_is(play):
    await play.begin(CardWhen.TURNS)
    async with play.stage.connected() as surface:
        play.outlets.connect(surface)
        await play.call(*TURN)
        before = up(play)
        await play.stage.end_sheet()
        assert await play.call(*TURN, *JOINT) is None
    assert up(play) == before


@pytest.mark.parametrize(
    ("kind", "late"),
    [(Kind.RESET_BEFORE, True), (Kind.RESET_AFTER, True)],
)
async def test_a_posting_that_broke_off_is_made_good_in_the_next_life(play, kind, late):
    await play.begin(CardWhen.END)
    play.stage.discord.faults.add(Fault(kind=kind, times=4))
    async with play.stage.connected() as first:
        play.outlets.connect(first)
        assert await play.call(*TURN * 2, *JOINT) is not None
    again = Play(play.stage)
    again.match_id = play.match_id
    if late:
        play.stage.discord.clock.skip(NONCE_WINDOW_S + 1)
        play.stage.services.clock._now += LONG_AFTER
    async with play.stage.connected() as second:
        again.outlets.connect(second)
        assert await again.call() is None
    assert up(play) == ["Left page 8, Right page 8. Well read, both pages."]


async def test_a_change_that_broke_off_is_made_again(play):
    await play.begin(CardWhen.TURNS)
    async with play.stage.connected() as surface:
        play.outlets.connect(surface)
        await play.call(*TURN)
        lost = Fault(
            kind=Kind.RESET_AFTER, method="PATCH", template=f"{MESSAGES}/{{message_id}}", times=4
        )
        play.stage.discord.faults.add(lost)
        assert await play.call(*TURN, *JOINT) is not None
        assert await play.call() is None
    assert up(play) == ["Left page 8, Right page 8. Well read, both pages."]


async def test_a_card_that_was_taken_down_stays_down(play):
    await play.begin(CardWhen.TURNS)
    async with play.stage.connected() as surface:
        play.outlets.connect(surface)
        await play.call(*TURN)
        play.stage.posted()[0].deleted = True
        assert await play.call(*TURN, *JOINT) is None
        assert await play.call() is None
    assert play.stage.posted() == []
