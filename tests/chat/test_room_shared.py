"""Many who ask for one page at once: it is drawn once, and nobody gets an older one."""

import asyncio

import pytest

from bot.chat.room.shared import SharedPages


class Drawing:
    """Draws what is true when it begins, slowly."""

    def __init__(self):
        self.truth, self.drawn = 0, 0
        self.go_on = asyncio.Event()

    def stamp(self):
        """Never twice the same."""
        return object()

    async def __call__(self):
        self.drawn += 1
        seen = self.truth
        await self.go_on.wait()
        return str(seen)


async def test_a_hundred_who_ask_at_once_share_one_drawing():
    shared, draw = SharedPages(), Drawing()
    draw.go_on.set()
    pages = await asyncio.gather(*(shared.get("board", draw, draw.stamp) for _ in range(100)))
    assert pages == ["0"] * 100
    assert draw.drawn == 1


async def test_who_asks_during_a_drawing_gets_one_that_was_begun_after_the_question():
    shared, draw = SharedPages(), Drawing()
    first = asyncio.create_task(shared.get("board", draw, draw.stamp))
    await asyncio.sleep(0.01)
    draw.truth = 1
    later = [asyncio.create_task(shared.get("board", draw, draw.stamp)) for _ in range(50)]
    await asyncio.sleep(0.01)
    draw.go_on.set()

    assert await first == "0"
    assert await asyncio.gather(*later) == ["1"] * 50
    assert draw.drawn == 2


async def test_pages_of_different_choirs_do_not_wait_for_one_another():
    shared, slow, quick = SharedPages(), Drawing(), Drawing()
    quick.go_on.set()
    waiting = asyncio.create_task(shared.get("one", slow, slow.stamp))
    assert await asyncio.wait_for(shared.get("other", quick, quick.stamp), 1) == "0"
    slow.go_on.set()
    await waiting


async def test_a_fault_is_told_to_all_and_the_next_one_draws_anew():
    shared, draw = SharedPages(), Drawing()
    draw.go_on.set()

    async def fails():
        raise ZeroDivisionError

    for ended in await asyncio.gather(
        *(shared.get("board", fails, object) for _ in range(3)), return_exceptions=True
    ):
        assert isinstance(ended, ZeroDivisionError)
    assert await shared.get("board", draw, draw.stamp) == "0"
    assert shared._next == {}
    assert dict(shared._turn) == {}


async def test_one_who_goes_away_takes_nothing_from_the_others():
    shared, draw = SharedPages(), Drawing()
    gone = asyncio.create_task(shared.get("board", draw, draw.stamp))
    stays = asyncio.create_task(shared.get("board", draw, draw.stamp))
    await asyncio.sleep(0.01)
    gone.cancel()
    with pytest.raises(asyncio.CancelledError):
        await gone
    draw.go_on.set()
    assert await stays == "0"


async def test_a_page_is_kept_as_long_as_what_it_shows_is_the_same():
    shared, draw = SharedPages(), Drawing()
    draw.go_on.set()
    for truth in (0, 0, 1, 1, 0):
        draw.truth = truth
        assert await shared.get("board", draw, lambda: draw.truth) == str(truth)
    assert draw.drawn == 3


async def test_a_page_that_was_overtaken_while_it_was_drawn_is_not_kept():
    shared, draw = SharedPages(), Drawing()
    first = asyncio.create_task(shared.get("board", draw, lambda: draw.truth))
    await asyncio.sleep(0.01)
    draw.truth = 1
    draw.go_on.set()
    assert await first == "0"
    assert await shared.get("board", draw, lambda: draw.truth) == "1"
