"""The steps of a sequence file in the order in which they come."""

from __future__ import annotations

from bot.music.sequence import Track
from bot.music.table_reader import TableReader
from bot.music.toml_lines import Table


def in_order(
    steps: tuple[Table, ...], order: Table | None, reader: TableReader
) -> tuple[Table, ...]:
    """The tables of steps as [order] says, as they stand in the file where it says nothing.

    An order names every step of its track once; what is wrong goes to the reader.
    """
    if order is None:
        return steps
    reader.only(order, *Track)
    places = {id(table): place for place, table in enumerate(steps)}
    for track in Track:
        if track not in order.values:
            continue
        there = {table.values.get("id"): table for table in steps if _in(table, track)}
        wanted = reader.text(order, track).split()
        remedy = f"name every step of the {track} track once"
        strange = [step for step in wanted if step not in there]
        missing = [str(step) for step in there if step not in wanted]
        twice = sorted({step for step in wanted if wanted.count(step) > 1})
        for words, problem in ((strange, "no step"), (missing, "leaves out"), (twice, "twice")):
            if words:
                reader.fault(order.at(track), f"{problem} {', '.join(words)}", remedy)
        if not (strange or missing or twice):
            free = sorted(places[id(table)] for table in there.values())
            places |= {id(there[step]): place for step, place in zip(wanted, free, strict=True)}
    return tuple(sorted(steps, key=lambda table: places[id(table)]))


def _in(table: Table, track: Track) -> bool:
    return table.values.get("track") == track
