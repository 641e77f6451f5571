"""The desk's passphrase: long, kept as a scrypt hash only, compared in constant time.

With it goes the key of the stage's tickets, which lasts as long as the passphrase does.
"""

from __future__ import annotations

import asyncio
import base64
import hashlib
import hmac
import os
import secrets
import unicodedata
from dataclasses import dataclass

from bot.errors import Refused
from bot.store.database import Database
from bot.store.desk import (
    forget_passphrase_hash,
    keep_passphrase_hash,
    keep_stage_key,
    passphrase_hash,
    stage_key,
)

MIN_PASSPHRASE = 15  # characters; NIST SP 800-63B's least for a single factor
MAX_PASSPHRASE = 1000
_N, _R, _P = 2**15, 8, 1  # 32 MiB and some 80 ms a try
_STAGE_KEY = 32  # bytes
_MEMORY = 2 * 128 * _N * _R  # bytes; twice what scrypt needs, as OpenSSL asks for slack


@dataclass(frozen=True, slots=True, kw_only=True)
class _Hash:
    """A kept hash; written as `scrypt$n$r$p$salt$hash` with base64."""

    n: int
    r: int
    p: int
    salt: bytes
    digest: bytes

    @classmethod
    def parse(cls, text: str) -> _Hash:
        _, n, r, p, salt, digest = text.split("$")
        return cls(
            n=int(n),
            r=int(r),
            p=int(p),
            salt=base64.b64decode(salt),
            digest=base64.b64decode(digest),
        )

    def __str__(self) -> str:
        salt, digest = (base64.b64encode(part).decode() for part in (self.salt, self.digest))
        return f"scrypt${self.n}${self.r}${self.p}${salt}${digest}"

    def fits(self, text: str) -> bool:
        tried = _scrypt(text, self.salt, self.n, self.r, self.p)
        return hmac.compare_digest(tried, self.digest)


_NOBODYS = _Hash(n=_N, r=_R, p=_P, salt=bytes(16), digest=bytes(32))


class Desk:
    """Sets and checks the passphrase."""

    def __init__(self, database: Database) -> None:
        self._database = database

    async def has_passphrase(self) -> bool:
        """Whether one was set."""
        async with self._database.snapshot() as read:
            return await passphrase_hash(read) is not None

    async def set_passphrase(self, text: str) -> None:
        """Keep a new one; Refused("desk_error.short") under 15 characters, or "desk_error.long"."""
        if len(text) < MIN_PASSPHRASE:
            raise Refused("desk_error.short", count=MIN_PASSPHRASE)
        if len(text) > MAX_PASSPHRASE:
            raise Refused("desk_error.long", count=MAX_PASSPHRASE)
        kept = await asyncio.to_thread(_hash, text)
        async with self._database.transaction() as change:
            await keep_passphrase_hash(change, str(kept))

    async def check_passphrase(self, text: str) -> bool:
        """Whether the text is the passphrase, in the same time always; False while none is set."""
        async with self._database.snapshot() as read:
            kept = await passphrase_hash(read)
        expected = _NOBODYS if kept is None else _Hash.parse(kept)
        fits = await asyncio.to_thread(expected.fits, text[:MAX_PASSPHRASE])
        return fits and kept is not None

    async def forget_passphrase(self) -> None:
        """Go back to a desk without one: for the command that helps who forgot it."""
        async with self._database.transaction() as change:
            await forget_passphrase_hash(change)

    async def stage_key(self) -> bytes:
        """What signs the stage's tickets: made once, gone with the passphrase that it was under."""
        async with self._database.transaction() as change:
            kept = await stage_key(change)
            if kept is None:
                kept = secrets.token_bytes(_STAGE_KEY)
                await keep_stage_key(change, kept)
        return kept


def _hash(text: str) -> _Hash:
    salt = os.urandom(16)
    return _Hash(n=_N, r=_R, p=_P, salt=salt, digest=_scrypt(text, salt, _N, _R, _P))


def _scrypt(text: str, salt: bytes, n: int, r: int, p: int) -> bytes:
    """Hash a passphrase in one normal form, so that it opens from every keyboard."""
    secret = unicodedata.normalize("NFKC", text).encode()
    return hashlib.scrypt(secret, salt=salt, n=n, r=r, p=p, maxmem=_MEMORY, dklen=32)
