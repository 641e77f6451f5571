"""What a choir reads on a date: composed from its steps, the date and the number of the draw."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from contextlib import nullcontext
from datetime import date

from bot.activities.choir import Choir, Steps
from bot.activities.reading import DAILY, Reading, draw_seed
from bot.errors import Refused
from bot.music.both_ways import both_ways, nearest_both_ways
from bot.music.canon import Canons
from bot.music.ensemble import Room
from bot.music.exercise import Exercise
from bot.music.parts import lines_together
from bot.music.pitch import Key
from bot.music.placement import in_mode_of
from bot.music.refocus import refocused
from bot.music.step import Level, level_of
from bot.music.step import Sequence as Order
from bot.service.content import Content
from bot.service.part_tables import PartTables
from bot.service.placing import placed_in_room, ranges_of


def compose_reading(
    choir: Choir,
    content: Content,
    on: date,
    draw: int,
    seen: Sequence[Exercise],
    slot: str = DAILY,
    focus: tuple[str, ...] = (),
    *,
    back_too: bool = False,
    tables: PartTables | None = None,
) -> Reading:
    """Compose what all voices of a choir can sing in one key; slow enough for a thread.

    One line for all where there is one, else companion lines for those whom it does not fit.
    `focus` are earlier steps to which the line comes back in the place of the newest. The seed
    follows from choir, date and draw, so the same draw and focus give the same line. `back_too`
    asks for a line that keeps every rule from the right as well, at the nearest steps with such.
    `tables` are those of parts that were composed before.
    """
    sequence = content.sequences.get(choir.steps.sequence)
    if sequence is None:
        raise Refused("reading.no_sequence", sequence=choir.steps.sequence)
    level = _level(choir.steps, sequence, focus, back_too=back_too)
    ranges = ranges_of(choir, level)
    key = in_mode_of(level, None if choir.key is None else Key.parse(choir.key))
    seed = draw_seed(choir.id, on, draw, slot)
    with nullcontext() if tables is None else tables.one_at_a_time:
        room = lines_together(
            sequence,
            level,
            ranges,
            key,
            measures=choir.measures,
            seed=seed,
            seen=seen,
            rooms=Room if tables is None else tables.room,
            canons=Canons if tables is None else tables.canons,
        )
    return Reading(
        id=new_reading_id(),
        choir_id=choir.id,
        on=on,
        slot=slot,
        draw=draw,
        exercise=room.exercise,
        parts=placed_in_room(room, choir, level.keys, content.wording),
        steps=choir.steps,
        seed=seed,
        focus=focus,
    )


def _level(steps: Steps, sequence: Order, focus: tuple[str, ...], *, back_too: bool) -> Level:
    """What a line of these steps keeps to, with the focus of earlier ones and from both sides."""
    ids = (steps.pitch, steps.rhythm, steps.voice)
    level = level_of(sequence, nearest_both_ways(sequence, ids) if back_too else ids)
    level = refocused(level, sequence, focus)
    return both_ways(level) if back_too else level


def new_reading_id() -> str:
    """Not to be guessed: a line that is not up yet has its page already."""
    return secrets.token_hex(10)
