"""A board that is drawn once for a school shows every change at once."""

from dataclasses import replace
from datetime import timedelta

from bot.chat.room import board as boards
from tests.fakes.choirs import a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.drawn import open_services
from tests.fakes.world import NINE


async def test_a_board_is_drawn_again_after_a_change_and_after_a_minute(
    tmp_path, open_room, visit, monkeypatch
):
    drawn, draw = [], boards._drawn_board

    async def counted(*wish):
        drawn.append(wish)
        return await draw(*wish)

    monkeypatch.setattr(boards, "_drawn_board", counted)
    clock = FakeClock(NINE)
    async with open_services(tmp_path, clock) as services:
        choir = a_choir()
        await services.choirs.add(choir)
        visitor = visit(await open_room(services))

        async def shown():
            return await (await visitor.get("/choir/choir-1")).text()

        first = await shown()
        assert await shown() == first
        assert len(drawn) == 1

        await services.choirs.change(replace(choir, name="Fourth Period"))
        assert "Fourth Period" in await shown()
        times = len(drawn)
        await shown()
        assert len(drawn) == times

        clock.set(NINE + timedelta(minutes=1))
        await shown()
        assert len(drawn) == times + 1
