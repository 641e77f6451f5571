"""A choir with a signed approval, and seats in it, on the service's own world."""

from datetime import date

from bot.privacy.approval import short_hash
from bot.service.seats import Slip
from bot.store.approvals import add_draft
from bot.store.database import Database, Transaction
from tests.fakes.choirs import a_choir
from tests.fakes.world import World
from tests.privacy.sheets import a_sheet, written


async def sign(world: World, *choirs: str, **changes: object) -> str:
    """Put a sheet into the database and type in its hash; returns the sheet's id."""
    tree = a_sheet(*(choirs or ("choir-1",)), **changes)
    data = written(tree)
    async with world.database.transaction() as change:
        await add_draft(change, tree["sheet_id"], data)
    await world.services.seating.approvals.confirm(tree["sheet_id"], short_hash(data))
    return tree["sheet_id"]


async def seated(world: World, count: int = 3, **changes: object) -> tuple[Slip, ...]:
    """A choir with an approval and seats; their slips."""
    await world.services.choirs.add(a_choir())
    await sign(world, **changes)
    return await world.services.seating.seats.make("choir-1", count)


async def posted(world: World, *days: date) -> None:
    """Let the choir's line be up on these days, without composing any."""
    async with world.database.transaction() as change:
        for day in days:
            await keep_posted(change, "choir-1", day, f"r-{day}")


async def keep_posted(change: Transaction, choir_id: str, day: date, reading_id: str) -> None:
    """Rows of a line that is up in the room on a day; there is no music in it."""
    await change.insert(
        "readings",
        {
            "reading_id": reading_id,
            "choir_id": choir_id,
            "read_on": day.isoformat(),
            "slot": "daily",
            "draw": 0,
            "current": 1,
            "exercise": "{}",
            "fingerprint": f"f-{reading_id}",
            "sequence": "steps-first",
            "step_pitch": "p01",
            "step_rhythm": "r01",
            "step_voice": "v01",
            "seed": 1,
            "origin": "composed",
            "title": None,
        },
    )
    await change.insert(
        "deliveries",
        {
            "choir_id": choir_id,
            "read_on": day.isoformat(),
            "slot": "daily",
            "surface": "room",
            "state": "sent",
            "reading_id": reading_id,
            "nonce": "n",
            "message_id": "m",
            "claimed_at": f"{day}T12:00:00+00:00",
            "settled_at": f"{day}T12:00:00+00:00",
        },
    )


async def rows_of(database: Database, table: str) -> list[tuple[object, ...]]:
    """Every row of a table."""
    async with database.snapshot() as read:
        return [tuple(row) for row in await read.rows(f"SELECT * FROM {table}")]  # noqa: S608
