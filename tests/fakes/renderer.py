"""A renderer that answers at once with bytes that name what was asked for."""

import hashlib


class InstantRenderer:
    """Stands in for the media cache and its worker; keeps every request."""

    def __init__(self) -> None:
        self.requests: list[object] = []
        self.broken: Exception | None = None

    async def get_or_make(self, request: object) -> bytes:
        return await self.render(request)

    async def render(self, request: object) -> bytes:
        self.requests.append(request)
        if self.broken is not None:
            raise self.broken
        return b"rendered " + hashlib.sha256(repr(request).encode()).hexdigest().encode()
