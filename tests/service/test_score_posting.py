"""The score of a match goes up once as a card, follows the match, and outlives every death."""

import asyncio
from dataclasses import dataclass
from datetime import timedelta

import pytest

from bot.activities.match_call import Call
from bot.activities.match_rules import CardWhen, Rules
from bot.activities.reading_day import Phase
from bot.store.deliveries import find_day
from tests.fakes.choirs import MONDAY, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.interruption import Killed, count_suspensions, interrupt
from tests.fakes.matches import plant_match
from tests.fakes.surface import FakeSurface
from tests.fakes.world import NINE, open_world

TURN = ("study", "read", "phrase-2", "phrase-2", "on", "thrown-1")
JOINT = ("study", "read", "phrase-2", "phrase-1")
WHOLE = (*TURN * 2, *JOINT)
MOST_SUSPENSIONS = 50  # of one round; a test below shows that it has fewer


@dataclass
class House:
    """A choir with a match, whose chat is a fake."""

    folder: object
    clock: FakeClock
    chat: FakeSurface
    match_id: str = ""

    async def set_up(self, card: str, *calls: str) -> None:
        async with self.open() as world:
            await world.services.choirs.add(a_choir())
            self.match_id = await plant_match(world.database, Rules(card=CardWhen(card)))
            await self.call(world, *calls)

    def open(self):
        return open_world(self.folder, self.clock, FakeSurface("room"), self.chat)

    async def call(self, world, *calls: str) -> None:
        matches = world.services.matches
        seen = (await matches.find(self.match_id)).revision
        for number, text in enumerate(calls):
            await matches.call(self.match_id, Call.parse(text), seen + number)

    async def round(self, world, *calls: str):
        await self.call(world, *calls)
        return await world.assembly.score_posting.round()

    @property
    def lines(self) -> list[str]:
        return [card.line for card in self.chat.cards]


@pytest.fixture
def house(tmp_path):
    return House(tmp_path, FakeClock(NINE), FakeSurface("chat"))


async def test_the_score_goes_up_at_the_end_and_only_once(house):
    await house.set_up("end", *TURN * 2)
    async with house.open() as world:
        await house.round(world)
        assert house.chat.cards == []
        for _ in range(2):
            assert await house.round(world) is None
        await house.round(world, *JOINT)
        await house.round(world)
    assert house.lines == ["Left page 8, Right page 8. Well read, both pages."]
    assert house.chat.renewed == []
    (card,) = house.chat.cards
    assert (card.key, card.on, card.match_id) == (
        "choir-1.2026-09-14.match-1",
        MONDAY,
        house.match_id,
    )


async def test_after_every_turn_the_same_card_says_how_it_stands(house):
    await house.set_up("turns")
    async with house.open() as world:
        await house.round(world)
        assert house.chat.cards == []
        seen = []
        for calls in (TURN, TURN[:3], TURN[3:], JOINT):
            await house.round(world, *calls)
            assert len(house.chat.cards) == 1
            seen.append(house.lines[0])
    assert [line.count("it goes on") for line in seen] == [1, 1, 1, 0]
    assert seen[0] == seen[1] != seen[2]
    assert house.chat.renewed == ["message-1"] * 2


async def test_an_end_that_is_taken_back_is_taken_back_on_the_card(house):
    await house.set_up("end", *WHOLE)
    async with house.open() as world:
        await house.round(world)
        await house.round(world, "undo")
        assert house.lines == ["Left page 7, Right page 7, and it goes on."]
        await house.round(world, "phrase-2")
        assert house.lines == ["Left page 9, Right page 9. Well read, both pages."]


async def test_a_house_that_wants_no_card_gets_none(house):
    await house.set_up("never", *WHOLE)
    async with house.open() as world:
        await house.round(world)
    assert house.chat.cards == []


async def test_two_matches_of_a_day_are_two_cards(house):
    await house.set_up("end", *WHOLE)
    async with house.open() as world:
        await house.round(world)
        house.match_id = await plant_match(world.database, Rules(), 2)
        await house.round(world, *WHOLE)
    assert [card.key[-7:] for card in house.chat.cards] == ["match-1", "match-2"]


async def test_where_a_choir_is_not_carried_nothing_goes_up_and_nothing_is_claimed(house):
    house.chat.without.add("choir-1")
    await house.set_up("end", *WHOLE)
    async with house.open() as world:
        assert await house.round(world) is None
        async with world.database.snapshot() as read:
            assert await find_day(read, "choir-1", MONDAY, "chat", "match-1") is None
        house.chat.without.clear()
        house.chat.since = MONDAY + timedelta(days=1)
        assert await house.round(world) is None
    assert house.chat.cards == []


async def test_a_match_of_yesterday_is_not_posted_today(house):
    await house.set_up("end", *WHOLE)
    await house.clock.advance(timedelta(days=1))
    async with house.open() as world:
        assert await house.round(world) is None
        assert (await world.services.status()).choirs[0].missed == ()
    assert house.chat.cards == []


@pytest.mark.parametrize("stored", [False, True])
async def test_a_line_that_goes_dead_in_the_middle_ends_in_one_card(house, stored):
    await house.set_up("end", *WHOLE)
    house.chat.break_off(stored=stored)
    async with house.open() as world:
        assert await house.round(world) is not None
        house.chat.mend()
        await house.clock.advance(timedelta(minutes=1))
        assert await house.round(world) is None
    assert house.lines == ["Left page 8, Right page 8. Well read, both pages."]


async def test_the_loop_posts_by_itself_when_a_match_ends(house):
    await house.set_up("end", *TURN * 2)
    arrived = asyncio.Event()
    house.chat.after_store = arrived.set
    async with house.open() as world:
        loop = asyncio.create_task(world.assembly.score_posting.run())
        await asyncio.sleep(0)
        await house.call(world, *JOINT)
        await asyncio.wait_for(arrived.wait(), 5)
        loop.cancel()
        await asyncio.gather(loop, return_exceptions=True)
    assert len(house.chat.cards) == 1


async def test_one_round_has_fewer_awaits_than_the_kills_reach(house):
    await house.set_up("end", *WHOLE)
    async with house.open() as world:
        assert await count_suspensions(world.assembly.score_posting.round()) < MOST_SUSPENSIONS


@pytest.mark.parametrize(("at", "late"), [(8, True), (20, False), (26, True), (32, True)])
async def test_killed_at_some_awaits_the_card_is_up_once_and_says_what_is_so(house, at, late):
    await house.set_up("turns", *TURN)
    await _die_twice_and_live(house, at, late=late)


@pytest.mark.long
@pytest.mark.parametrize("late", [False, True], ids=["soon", "late"])
@pytest.mark.parametrize("at", range(1, MOST_SUSPENSIONS))
async def test_killed_at_any_await_the_card_is_up_once_and_says_what_is_so(house, at, late):
    await house.set_up("turns", *TURN)
    await _die_twice_and_live(house, at, late=late)


async def _die_twice_and_live(house, at, *, late):
    """Die while the card goes up, die while it is changed, and look in the next life."""
    async with house.open() as world:
        await _die(world.assembly.score_posting.round(), at)
        await house.call(world, *TURN, *JOINT)
    async with house.open() as world:
        await _die(world.assembly.score_posting.round(), at)
    await house.clock.advance(timedelta(minutes=5 if late else 0, seconds=5))
    if late:
        house.chat.forget_nonces()
    async with house.open() as world:
        await world.assembly.score_posting.round()
        async with world.database.snapshot() as read:
            day = await find_day(read, "choir-1", MONDAY, "chat", "match-1")
        assert (day.phase, day.message_id) == (Phase.SENT, "message-1")
        assert house.lines == ["Left page 8, Right page 8. Well read, both pages."]
        assert await world.assembly.score_posting.round() is None


async def _die(coroutine, at):
    try:
        await interrupt(coroutine, at, Killed())
    except Killed:
        return
