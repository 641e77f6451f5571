"""Many who ask for one page at once: it is drawn once, and nobody gets an older one."""

import asyncio

import pytest

from bot.chat.room.shared import SharedPages


class Drawing:
    """Draws what is true when it begins, slowly."""

    def __init__(self):
        self.truth, self.drawn = 0, 0
        self.go_on = asyncio.Event()

    async def __call__(self):
        self.drawn += 1
        seen = self.truth
        await self.go_on.wait()
        return str(seen)


async def test_a_hundred_who_ask_at_once_share_one_drawing():
    shared, draw = SharedPages(), Drawing()
    draw.go_on.set()
    pages = await asyncio.gather(*(shared.get("board", draw) for _ in range(100)))
    assert pages == ["0"] * 100
    assert draw.drawn == 1


async def test_who_asks_during_a_drawing_gets_one_that_was_begun_after_the_question():
    shared, draw = SharedPages(), Drawing()
    first = asyncio.create_task(shared.get("board", draw))
    await asyncio.sleep(0.01)
    draw.truth = 1
    later = [asyncio.create_task(shared.get("board", draw)) for _ in range(50)]
    await asyncio.sleep(0.01)
    draw.go_on.set()

    assert await first == "0"
    assert await asyncio.gather(*later) == ["1"] * 50
    assert draw.drawn == 2


async def test_pages_of_different_choirs_do_not_wait_for_one_another():
    shared, slow, quick = SharedPages(), Drawing(), Drawing()
    quick.go_on.set()
    waiting = asyncio.create_task(shared.get("one", slow))
    assert await asyncio.wait_for(shared.get("other", quick), 1) == "0"
    slow.go_on.set()
    await waiting


async def test_a_fault_is_told_to_all_and_the_next_one_draws_anew():
    shared, draw = SharedPages(), Drawing()
    draw.go_on.set()

    async def fails():
        raise ZeroDivisionError

    for ended in await asyncio.gather(
        *(shared.get("board", fails) for _ in range(3)), return_exceptions=True
    ):
        assert isinstance(ended, ZeroDivisionError)
    assert await shared.get("board", draw) == "0"
    assert shared._next == {}
    assert dict(shared._turn) == {}


async def test_one_who_goes_away_takes_nothing_from_the_others():
    shared, draw = SharedPages(), Drawing()
    gone = asyncio.create_task(shared.get("board", draw))
    stays = asyncio.create_task(shared.get("board", draw))
    await asyncio.sleep(0.01)
    gone.cancel()
    with pytest.raises(asyncio.CancelledError):
        await gone
    draw.go_on.set()
    assert await stays == "0"
