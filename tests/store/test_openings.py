"""Which lines are open for hearing is kept with the reading."""

from bot.store.choirs import add_choir
from bot.store.folder import open_database
from bot.store.openings import line_is_open, open_line
from bot.store.readings import add_reading
from tests.fakes.choirs import MONDAY, a_choir, a_reading


async def test_a_line_is_closed_until_it_is_opened_and_then_stays_open(tmp_path):
    async with open_database(tmp_path, born="test") as database, database.transaction() as change:
        await add_choir(change, a_choir(), MONDAY)
        await add_reading(change, a_reading())
        assert not await line_is_open(change, "reading-1")
        assert await open_line(change, "reading-1")
    async with open_database(tmp_path, born="test") as database, database.snapshot() as read:
        assert await line_is_open(read, "reading-1")


async def test_a_line_that_is_not_there_cannot_be_opened(tmp_path):
    async with open_database(tmp_path, born="test") as database, database.transaction() as change:
        assert not await open_line(change, "reading-2")
        assert not await line_is_open(change, "reading-2")
