"""The desk's passphrase."""

from __future__ import annotations

MIN_PASSPHRASE = 15  # characters; reference: NIST SP 800-63B for a single factor


class Desk:
    """Sets and checks the passphrase; only a scrypt hash of it is ever kept."""

    async def has_passphrase(self) -> bool:
        """Whether one was set."""
        raise NotImplementedError

    async def set_passphrase(self, text: str) -> None:
        """Keep a new one; Refused("desk_error.short") under 15 characters."""
        raise NotImplementedError

    async def check_passphrase(self, text: str) -> bool:
        """Whether the text is the passphrase; takes the same time either way."""
        raise NotImplementedError
