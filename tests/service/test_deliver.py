"""Posting exactly once: whatever a surface does, a card goes up once or is told of."""

import asyncio
import logging
from datetime import timedelta

import pytest

from bot.activities.reading_day import Phase
from bot.errors import Refused
from bot.service import deliver as deliver_module
from tests.fakes.choirs import MONDAY, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.surface import FakeSurface
from tests.fakes.world import EIGHT, SIX, open_world, phase_of

CHOIR = a_choir()
KEY = "choir-1.2026-09-14.daily"
MOST_SUSPENSIONS = 45  # of one posting; a test below shows that it has fewer


@pytest.fixture
def clock():
    return FakeClock(EIGHT)


@pytest.fixture
def surface():
    return FakeSurface("room")


async def start(folder, clock, surface) -> None:
    """Set the choir up, the line ready, and leave."""
    async with open_world(folder, clock, surface) as world:
        await world.services.choirs.add(CHOIR)
        await world.services.readings.preview(CHOIR.id, MONDAY)


async def test_a_due_line_goes_up_and_its_message_is_kept(tmp_path, clock, surface):
    await start(tmp_path, clock, surface)

    async with open_world(tmp_path, clock, surface) as world:
        await world.assembly.scheduler.round()

        assert surface.keys == [KEY]
        assert await phase_of(world, CHOIR.id, MONDAY) is Phase.SENT


async def test_a_second_round_posts_nothing_more(tmp_path, clock, surface):
    await start(tmp_path, clock, surface)

    async with open_world(tmp_path, clock, surface) as world:
        await world.assembly.scheduler.round()
        await world.assembly.scheduler.round()

    assert surface.keys == [KEY]


@pytest.mark.parametrize("stored", [False, True], ids=["not stored", "stored"])
async def test_a_surface_that_breaks_off_is_asked_again_with_the_same_nonce(
    tmp_path, clock, surface, stored
):
    await start(tmp_path, clock, surface)
    surface.break_off(stored=stored)

    async with open_world(tmp_path, clock, surface) as world:
        again = await world.assembly.scheduler.round()
        assert again == EIGHT + timedelta(seconds=30)
        surface.mend()
        await clock.to(again)
        await world.assembly.scheduler.round()

    assert surface.keys == [KEY]


async def test_a_surface_that_never_answers_ends_in_doubt_not_in_a_second_card(
    tmp_path, clock, surface
):
    await start(tmp_path, clock, surface)
    surface.break_off(stored=True)

    async with open_world(tmp_path, clock, surface) as world:
        await world.assembly.scheduler.round()
        surface.mend()
        surface.forget_nonces()
        surface.readable = False
        await clock.advance(timedelta(minutes=3))
        await world.assembly.scheduler.round()
        assert await phase_of(world, CHOIR.id, MONDAY) is Phase.CLAIMED
        await clock.advance(timedelta(minutes=8))
        await world.assembly.scheduler.round()
        assert await phase_of(world, CHOIR.id, MONDAY) is Phase.UNSURE

        surface.readable = True
        await world.assembly.scheduler.round()

        assert await phase_of(world, CHOIR.id, MONDAY) is Phase.SENT
    assert surface.keys == [KEY]


async def test_an_unsure_card_that_turns_out_to_be_missing_is_sent(tmp_path, clock, surface):
    await start(tmp_path, clock, surface)
    surface.break_off(stored=False)
    async with open_world(tmp_path, clock, surface) as world:
        await world.assembly.scheduler.round()
        surface.readable = False
        await clock.advance(timedelta(minutes=11))
        await world.assembly.scheduler.round()
        assert await phase_of(world, CHOIR.id, MONDAY) is Phase.UNSURE

        surface.mend()
        surface.readable = True
        await world.assembly.scheduler.round()

    assert surface.keys == [KEY]


async def test_the_director_may_send_an_unsure_card_again(tmp_path, clock, surface):
    await start(tmp_path, clock, surface)
    surface.break_off(stored=False)
    async with open_world(tmp_path, clock, surface) as world:
        await world.assembly.scheduler.round()
        surface.readable = False
        await clock.advance(timedelta(minutes=11))
        await world.assembly.scheduler.round()
        surface.mend()

        await world.services.readings.post_now(CHOIR.id)

        assert await phase_of(world, CHOIR.id, MONDAY) is Phase.SENT
    assert surface.keys == [KEY]


async def test_a_claim_left_over_from_yesterday_is_looked_for_but_never_sent(
    tmp_path, clock, surface
):
    await start(tmp_path, clock, surface)
    surface.break_off(stored=False)
    async with open_world(tmp_path, clock, surface) as world:
        await world.assembly.scheduler.round()
    surface.mend()
    await clock.advance(timedelta(hours=20))

    async with open_world(tmp_path, clock, surface) as world:
        await world.assembly.scheduler.round()

        assert await phase_of(world, CHOIR.id, MONDAY) is Phase.MISSED
        assert (await world.services.status()).choirs[0].missed == (MONDAY,)
    assert KEY not in surface.keys


async def test_a_clock_set_back_makes_nobody_post_twice(tmp_path, clock, surface):
    await start(tmp_path, clock, surface)
    surface.break_off(stored=True)
    async with open_world(tmp_path, clock, surface) as world:
        await world.assembly.scheduler.round()
        surface.mend()
        surface.forget_nonces()
        clock.set(EIGHT - timedelta(hours=1))

        await world.assembly.scheduler.round()

        assert await phase_of(world, CHOIR.id, MONDAY) is Phase.SENT
    assert surface.keys == [KEY]


async def test_the_claimed_line_is_the_one_that_is_shown_whatever_is_asked_then(
    tmp_path, clock, surface
):
    await start(tmp_path, clock, surface)
    surface.break_off(stored=False)
    async with open_world(tmp_path, clock, surface) as world:
        before = await world.services.readings.preview(CHOIR.id, MONDAY)
        await world.assembly.scheduler.round()

        with pytest.raises(Refused, match=r"reading\.posted"):
            await world.services.readings.redraw(CHOIR.id, MONDAY)

        surface.mend()
        await world.assembly.scheduler.round()
    assert [card.reading_id for card in surface.cards] == [before.reading_id]


async def test_a_surface_that_hangs_is_given_up_and_tried_again(
    tmp_path, clock, surface, monkeypatch
):
    monkeypatch.setattr(deliver_module, "TIME_LIMIT_S", 0.05)
    await start(tmp_path, clock, surface)
    post = surface.post

    async def hang(card, nonce):
        await asyncio.sleep(60)

    async with open_world(tmp_path, clock, surface) as world:
        surface.post = hang
        await world.assembly.scheduler.round()
        surface.post = post
        await world.assembly.scheduler.round()

    assert surface.keys == [KEY]


async def test_two_visits_at_the_same_moment_post_once(tmp_path, clock, surface):
    await start(tmp_path, clock, surface)

    async with open_world(tmp_path, clock, surface) as world:
        results = await asyncio.gather(
            world.assembly.scheduler.round(),
            world.services.readings.post_now(CHOIR.id),
            world.assembly.scheduler.round(),
            return_exceptions=True,
        )

    assert [r for r in results if isinstance(r, Exception) and not isinstance(r, Refused)] == []
    assert surface.keys == [KEY]


async def test_post_now_posts_before_the_hour_and_the_hour_posts_nothing_more(tmp_path, surface):
    clock = FakeClock(SIX)
    await start(tmp_path, clock, surface)
    async with open_world(tmp_path, clock, surface) as world:
        await world.services.readings.post_now(CHOIR.id)
        await clock.to(EIGHT)
        await world.assembly.scheduler.round()

        with pytest.raises(Refused, match=r"reading\.posted"):
            await world.services.readings.post_now(CHOIR.id)

    assert surface.keys == [KEY]


async def test_what_a_surface_does_not_carry_is_neither_posted_nor_missed_there(
    tmp_path, clock, surface
):
    other = FakeSurface("discord")
    other.without.add(CHOIR.id)
    await start(tmp_path, clock, surface)

    async with open_world(tmp_path, clock, surface, other) as world:
        await world.assembly.scheduler.round()
        await clock.advance(timedelta(days=3))
        await world.assembly.scheduler.round()
        async with world.database.snapshot() as read:
            rows = await read.rows("SELECT DISTINCT surface FROM deliveries")

    assert other.keys == []
    assert [row["surface"] for row in rows] == ["room"]


async def test_every_surface_gets_the_card_once_though_one_of_them_fails(tmp_path, clock, surface):
    other = FakeSurface("discord")
    await start(tmp_path, clock, surface)
    surface.break_off(stored=False)

    async with open_world(tmp_path, clock, surface, other) as world:
        await world.assembly.scheduler.round()
        surface.mend()
        await world.assembly.scheduler.round()

    assert (surface.keys, other.keys) == ([KEY], [KEY])


async def test_the_log_names_no_choir_and_no_message(tmp_path, clock, surface, caplog):
    caplog.set_level(logging.DEBUG)
    await start(tmp_path, clock, surface)
    surface.break_off(stored=True)

    async with open_world(tmp_path, clock, surface) as world:
        await world.assembly.scheduler.round()
        surface.mend()
        await world.assembly.scheduler.round()

    written = "\n".join(
        record.getMessage() for record in caplog.records if record.name.startswith("bot.")
    )
    assert "posting to room failed: SurfaceUnavailable" in written
    for secret in (CHOIR.id, CHOIR.name, "message-", surface.cards[0].reading_id, "127.0.0.1"):
        assert secret not in written
