"""The desk's passphrase hash: a table of its own, of the class that no backup carries."""

from __future__ import annotations

from bot.store.database import Snapshot, Transaction


async def passphrase_hash(read: Snapshot) -> str | None:
    """The hash as it was kept, None where no passphrase is set."""
    row = await read.row("SELECT passphrase_hash FROM desk")
    return None if row is None else str(row["passphrase_hash"])


async def keep_passphrase_hash(change: Transaction, text: str) -> None:
    """Keep a hash in place of the one before."""
    await forget_passphrase_hash(change)
    await change.insert("desk", {"only": 1, "passphrase_hash": text})


async def forget_passphrase_hash(change: Transaction) -> None:
    """Go back to a desk without a passphrase."""
    await change.delete("desk", {"only": 1})
