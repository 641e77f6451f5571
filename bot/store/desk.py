"""The desk's passphrase hash and the stage's key: tables of the class that no backup carries."""

from __future__ import annotations

from bot.store.database import Snapshot, Transaction


async def passphrase_hash(read: Snapshot) -> str | None:
    """The hash as it was kept, None where no passphrase is set."""
    row = await read.row("SELECT passphrase_hash FROM desk")
    return None if row is None else str(row["passphrase_hash"])


async def keep_passphrase_hash(change: Transaction, text: str) -> None:
    """Keep a hash in place of the one before; stages that were opened under that one end."""
    await forget_passphrase_hash(change)
    await change.insert("desk", {"only": 1, "passphrase_hash": text})


async def forget_passphrase_hash(change: Transaction) -> None:
    """Go back to a desk without a passphrase; open stages end."""
    await change.delete("desk", {"only": 1})
    await change.delete("stage", {"only": 1})


async def stage_key(read: Snapshot) -> bytes | None:
    """The key of the stage's tickets, 32 bytes; None where there is none yet."""
    row = await read.row("SELECT ticket_key FROM stage")
    return None if row is None else bytes(row["ticket_key"])


async def keep_stage_key(change: Transaction, key: bytes) -> None:
    """Keep the first key of this passphrase."""
    await change.insert("stage", {"only": 1, "ticket_key": key})
