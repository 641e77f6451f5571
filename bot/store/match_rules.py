"""A choir's own rules of the match as a row, and rules as the JSON that they are kept in."""

from __future__ import annotations

from types import MappingProxyType

import msgspec

from bot.activities.match_rules import CardWhen, Ending, Rules, Stand
from bot.store.database import Snapshot, Transaction


class RulesJson(msgspec.Struct, kw_only=True):
    """Rules as they are kept; what an older release did not know has the value it played by."""

    turns: int
    study: dict[int, int]
    phrases: int
    read: int
    nearly: int
    good: int
    group: tuple[int, int] = msgspec.field(name="row")  # as format 1 calls it
    throws: int
    claims: int
    claim: int
    stand: Stand = Stand.COUNTED
    ending: Ending
    card: CardWhen = CardWhen.NEVER
    left: str
    right: str


class _Kept(msgspec.Struct, kw_only=True):
    """The column `rules`, format 1."""

    format: int
    rules: RulesJson


def rules_json(rules: Rules) -> RulesJson:
    """Rules on their way into a column."""
    return RulesJson(
        turns=rules.turns,
        study=dict(rules.study),
        phrases=rules.phrases,
        read=rules.read,
        nearly=rules.nearly,
        good=rules.good,
        group=rules.group,
        throws=rules.throws,
        claims=rules.claims,
        claim=rules.claim,
        stand=rules.stand,
        ending=rules.ending,
        card=rules.card,
        left=rules.left,
        right=rules.right,
    )


def rules_kept(kept: RulesJson) -> Rules:
    """Rules on their way out of a column."""
    values = msgspec.structs.asdict(kept)
    return Rules(**{**values, "study": MappingProxyType(kept.study)})


async def own_rules(read: Snapshot, choir_id: str) -> Rules | None:
    """What a choir keeps as its own; None where it plays by the house's."""
    row = await read.row("SELECT rules FROM match_rules WHERE choir_id = ?", choir_id)
    return None if row is None else rules_kept(msgspec.json.decode(row["rules"], type=_Kept).rules)


async def keep_rules(change: Transaction, choir_id: str, rules: Rules) -> None:
    """Keep a choir's own rules in place of those before."""
    await drop_rules(change, choir_id)
    kept = msgspec.json.encode(_Kept(format=1, rules=rules_json(rules))).decode()
    await change.insert("match_rules", {"choir_id": choir_id, "rules": kept})


async def drop_rules(change: Transaction, choir_id: str) -> None:
    """Let a choir play by the house's rules again."""
    await change.delete("match_rules", {"choir_id": choir_id})
