"""A match without a draw: kept as the service keeps one, its lines as plain as can be."""

from dataclasses import replace
from datetime import date

from bot.activities.match_rules import Rules
from bot.activities.match_sides import Heads
from bot.activities.match_state import LineShape
from bot.service.match_lines import SLOT
from bot.store import matches as rows
from bot.store.readings import add_reading
from tests.fakes.choirs import MONDAY, a_reading, an_exercise

EIGHT_HEADS = Heads(label="Part I", count=8)


async def plant_match(
    database,
    rules: Rules,
    number: int = 1,
    *,
    choir_id: str = "choir-1",
    on: date = MONDAY,
    heads: Heads = EIGHT_HEADS,
) -> str:
    """A match of one turn a side, not begun; its id."""
    match_id = f"match{number}"
    lines = [
        replace(
            a_reading(f"{match_id}-{at}", choir_id=choir_id, on=on, exercise=an_exercise(at)),
            slot=SLOT,
            draw=10 * number + at,
        )
        for at in range(3)
    ]
    begun = rows.Begun(
        rules=rules,
        heads=(heads,),
        seed=number,
        turns=1,
        lines=(LineShape(measures=4, beats=4),) * 3,
    )
    match = rows.MatchRow(
        id=match_id,
        choir_id=choir_id,
        number=number,
        on=on,
        begun=begun,
        ended=False,
        left=0,
        right=0,
    )
    async with database.transaction() as change:
        for line in lines:
            await add_reading(change, line)
        await rows.add_match(change, match, [line.id for line in lines])
    return match_id
