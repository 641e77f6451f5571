"""News for open boards, and the room as a surface that posts them."""

import asyncio
from datetime import timedelta

from bot.chat.room.live import Hub
from tests.chat import house


async def _page(visitor, path="/") -> str:
    response = await visitor.get(path)
    assert response.status == 200
    return await response.text()


async def _next_event(stream) -> tuple[str, str]:
    block = (await asyncio.wait_for(stream.content.readuntil(b"\n\n"), 5)).decode()
    fields = dict(line.partition(": ")[::2] for line in block.splitlines())
    return fields["event"], fields["data"]


async def test_a_live_board_hears_what_is_up_and_what_goes_up(visitor, services, room):
    async with visitor.session.get(visitor.url + "/choir/c1/live") as stream:
        assert stream.content_type == "text/event-stream"
        assert await _next_event(stream) == ("newest", "c1-20251124")

        card = house.a_card(services.choirs.kept["c1"], house.MONDAY + timedelta(days=1))
        assert await room.post(card, "nonce") == card.reading_id

        assert await _next_event(stream) == ("newest", card.reading_id)


async def test_a_live_board_hears_nothing_of_another_choir(visitor, services, room):
    services.choirs.kept["c2"] = house.a_choir("c2", "Tenor-Bass Choir")
    async with visitor.session.get(visitor.url + "/choir/c1/live") as stream:
        await _next_event(stream)

        await room.post(house.a_card(services.choirs.kept["c2"], house.MONDAY), "n")
        card = house.a_card(services.choirs.kept["c1"], house.MONDAY + timedelta(days=1))
        await room.post(card, "m")

        assert await _next_event(stream) == ("newest", card.reading_id)


async def test_a_posted_card_is_on_the_board_before_its_delivery_is_written_down(
    visitor, services, room
):
    card = house.a_card(services.choirs.kept["c1"], house.MONDAY + timedelta(days=1))
    await room.post(card, "nonce")

    page = await _page(visitor)

    assert page.count("data-reading=") == 6
    assert page.rindex(card.reading_id) > page.rindex("c1-20251124")


async def test_a_card_posted_twice_stands_on_the_board_once(visitor, services, room):
    card = services.readings.up[-1]
    await room.post(card, "nonce")
    await room.post(card, "nonce")
    assert (await _page(visitor)).count("data-reading=") == 5


async def test_the_room_finds_a_card_by_what_its_board_shows(services, room):
    card = services.readings.up[-1]
    tomorrow = house.a_card(services.choirs.kept["c1"], house.MONDAY + timedelta(days=1))

    assert await room.find(card) == card.reading_id
    assert await room.find(tomorrow) is None


async def test_the_room_stops_at_once_while_boards_are_live(open_room, services, visit):
    room = await open_room(services)
    visitor = visit(room)
    async with visitor.session.get(visitor.url + "/choir/c1/live") as stream:
        await _next_event(stream)
        async with asyncio.timeout(3):
            await room.stop()
        assert await stream.content.read() == b""


async def test_a_class_hears_at_once_and_a_schools_boards_one_after_another():
    hub = Hub()
    boards = {
        choir: [asyncio.Queue[str | None](8) for _ in range(count)]
        for choir, count in (("class", 25), ("rest", 25), ("school", 50))
    }
    for choir, queues in boards.items():
        hub._boards[choir] = dict.fromkeys(queues)

    began = asyncio.get_running_loop().time()
    for choir in boards:
        hub.announce(choir, "a sheet")

    assert [queue.qsize() for queue in boards["class"]] == [1] * 25
    everybody = [queue for queues in boards.values() for queue in queues]
    assert sum(queue.qsize() for queue in everybody) == 30
    for queue in everybody:
        assert await asyncio.wait_for(queue.get(), 2) == "a sheet"
    took = asyncio.get_running_loop().time() - began
    assert took >= 70 * 0.004 - 0.02


async def test_news_of_a_quiet_hour_later_are_told_at_once_again():
    hub, queue = Hub(), asyncio.Queue[str | None](8)
    hub._boards["class"] = {queue: None}
    for number in range(5):
        hub.announce("class", f"sheet {number}")
    assert [queue.get_nowait() for _ in range(5)] == [f"sheet {number}" for number in range(5)]
