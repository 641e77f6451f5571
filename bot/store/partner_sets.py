"""A choir's last set of partner lines as a row, and the JSON in which it is kept whole."""

from __future__ import annotations

from dataclasses import dataclass

import msgspec

from bot.activities.choir import Steps
from bot.music.exercise_json import exercise_from_json, exercise_to_json
from bot.music.partner_pool import Stack
from bot.music.partner_set import PartnerSet
from bot.music.shared_ground import SharedGround
from bot.store.database import Snapshot, Transaction


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptPartners:
    """A set and the steps at which it was composed; `id` is random, another for each set.

    `asked` is the pitch step that was asked for, above that of `steps` where it is out of reach.
    """

    id: str
    steps: Steps
    found: PartnerSet
    asked: str


class _Stack(msgspec.Struct, kw_only=True):
    exercise: str
    lines: tuple[int, ...]
    singers: tuple[tuple[int, ...], ...]
    do_octaves: tuple[tuple[int, ...], ...]
    worth: float


class _Kept(msgspec.Struct, kw_only=True):
    """The column `partners`, format 1."""

    format: int
    steps: Steps
    chords: tuple[tuple[int, ...], ...]
    lines: tuple[str, ...]
    do_octaves: tuple[int, ...]
    stacks: tuple[_Stack, ...]
    less_new: bool
    asked: str = ""  # sets of before it had this were at the step that was asked for


async def keep_partners(change: Transaction, choir_id: str, kept: KeptPartners) -> None:
    """Keep a choir's set in place of the one before."""
    await change.delete("partner_sets", {"choir_id": choir_id})
    row = {"choir_id": choir_id, "set_id": kept.id, "partners": _text(kept)}
    await change.insert("partner_sets", row)


async def partners_of(read: Snapshot, choir_id: str) -> KeptPartners | None:
    """The set that a choir composed last; None where it has none."""
    row = await read.row("SELECT * FROM partner_sets WHERE choir_id = ?", choir_id)
    return None if row is None else _kept(row["set_id"], row["partners"])


def _text(kept: KeptPartners) -> str:
    found = kept.found
    stacks = tuple(
        _Stack(
            exercise=exercise_to_json(each.exercise),
            lines=each.lines,
            singers=each.singers,
            do_octaves=each.do_octaves,
            worth=each.worth,
        )
        for each in (*found.pairs, *found.triples)
    )
    whole = _Kept(
        format=1,
        steps=kept.steps,
        chords=found.ground.chords,
        lines=tuple(exercise_to_json(line) for line in found.lines),
        do_octaves=found.do_octaves,
        stacks=stacks,
        less_new=found.less_new,
        asked=kept.asked,
    )
    return msgspec.json.encode(whole).decode()


def _kept(set_id: str, text: str) -> KeptPartners:
    whole = msgspec.json.decode(text, type=_Kept)
    lines = tuple(exercise_from_json(line) for line in whole.lines)
    stacks = [
        Stack(
            exercise=exercise_from_json(each.exercise),
            lines=each.lines,
            singers=each.singers,
            do_octaves=each.do_octaves,
            worth=each.worth,
        )
        for each in whole.stacks
    ]
    found = PartnerSet(
        ground=SharedGround(metre=lines[0].metre, chords=whole.chords),
        lines=lines,
        do_octaves=whole.do_octaves,
        pairs=tuple(each for each in stacks if len(each.lines) == 2),
        triples=tuple(each for each in stacks if len(each.lines) == 3),
        less_new=whole.less_new,
    )
    asked = whole.asked or whole.steps.pitch
    return KeptPartners(id=set_id, steps=whole.steps, found=found, asked=asked)
