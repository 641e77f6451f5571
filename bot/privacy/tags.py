"""Tags: what is kept in place of a code or an account, useless without a key from another file.

A code has 40 random bits: eight characters of Crockford's base 32, which leaves out what is
mistaken on paper (I, L, O, U) and reads them as what they look like. Its tag is an HMAC over
scrypt: with database and key stolen together, all 2^40 codes would still cost about 1,700 years of
one processor core.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
from collections.abc import Iterable
from dataclasses import dataclass

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
CODE_LENGTH = 8
KEY_BYTES = 32
_READ_AS = str.maketrans("OIL", "011")
_N, _R, _P = 2**14, 8, 1  # 16 MiB and some 45 ms a code
_MEMORY = 2 * 128 * _N * _R  # bytes; twice what scrypt needs, as OpenSSL asks for slack


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class TagKeys:
    """The keys of one term, from a file beside the database. `link` is for accounts elsewhere."""

    code: bytes
    salt: bytes
    link: bytes


def new_keys() -> TagKeys:
    """Fresh keys; every tag made with others is worthless from then on."""
    return TagKeys(
        code=secrets.token_bytes(KEY_BYTES),
        salt=secrets.token_bytes(KEY_BYTES),
        link=secrets.token_bytes(KEY_BYTES),
    )


def new_code() -> str:
    """A code for a slip, as it is typed without its hyphen."""
    return "".join(secrets.choice(ALPHABET) for _ in range(CODE_LENGTH))


def shown(code: str) -> str:
    """The code as a slip shows it."""
    return f"{code[:4]}-{code[4:]}"


def parse_code(text: str) -> str | None:
    """The code that somebody typed, in capitals or not, with spaces or hyphens; None for no code.

    >>> parse_code(" abcd-efg0 "), parse_code("ilo0-1111"), parse_code("abcd-efgu")
    ('ABCDEFG0', '11001111', None)
    """
    plain = "".join(text[:40].upper().replace("-", "").split()).translate(_READ_AS)
    if len(plain) != CODE_LENGTH or not set(plain) <= set(ALPHABET):
        return None
    return plain


def code_tag(keys: TagKeys, code: str) -> bytes:
    """What is kept of a code. Slow on purpose: call it off the event loop."""
    slow = hashlib.scrypt(code.encode(), salt=keys.salt, n=_N, r=_R, p=_P, maxmem=_MEMORY, dklen=32)
    return hmac.digest(keys.code, slow, "sha256")


def link_code_tags(keys: TagKeys, code: str, hours: Iterable[int]) -> tuple[bytes, ...]:
    """A tag of a code for each hour since the epoch; kept is that of the hour in which it was made.

    So a code's age is checked, and what is kept says nothing of the hour. Slow on purpose, too.
    """
    slow = hashlib.scrypt(code.encode(), salt=keys.salt, n=_N, r=_R, p=_P, maxmem=_MEMORY, dklen=32)
    return tuple(hmac.digest(keys.link, b"code %d " % hour + slow, "sha256") for hour in hours)


def link_tag(keys: TagKeys, account: str) -> bytes:
    """128 bits in place of an account elsewhere, written as `v1/discord/<server>/<user>`."""
    return hmac.digest(keys.link, account.encode(), "sha256")[:16]
