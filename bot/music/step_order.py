"""The steps of a sequence file in the order in which they come."""

from __future__ import annotations

from collections.abc import Iterator

from bot.music.sequence import Track
from bot.music.table_reader import TableReader
from bot.music.toml_lines import Document, Table

ORDER, VARIANT = "order", "variant"


def orders_of(document: Document, reader: TableReader) -> Iterator[tuple[Table, Table | None]]:
    """The sequence of a file and its variants: the table of id and title, and the order of steps.

    A variant orders anew the tracks that it names, the others come as in [order].
    """
    own = document.tables.get(ORDER)
    yield document.top, own
    ids = [document.top.values.get("id")]
    for table in document.arrays.get(VARIANT, ()):
        reader.only(table, "id", "title", *Track)
        if table.values.get("id") in ids:
            reader.fault(table.at("id"), "the id stands here twice", "an id of its own")
        ids.append(table.values.get("id"))
        yield table, _over(own, table)


def _over(own: Table | None, variant: Table) -> Table:
    """What a variant says of the order, over what the file says."""
    tracks = {name: value for name, value in variant.values.items() if name in set(Track)}
    values, places = (own.values, own.places) if own else ({}, {})
    return Table(
        values={**values, **tracks},
        place=variant.place,
        places={**places, **variant.places},
    )


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
