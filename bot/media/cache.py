"""Media on disk, each under the digest of its request: made once, kept until room is needed.

Which file was used when is kept in memory only: the folder shows no trail of who listened when.
"""

from __future__ import annotations

import asyncio
import contextlib
import hashlib
import logging
import os
import re
import tempfile
from pathlib import Path
from typing import Protocol

from bot.media.request import MediaRequest

_log = logging.getLogger(__name__)

_DIGEST = re.compile(r"[0-9a-f]{64}")
_CHECKSUM_BYTES = hashlib.sha256().digest_size


class Renderer(Protocol):
    """Whatever makes bytes from requests: the worker, or a test's own."""

    async def render(self, request: MediaRequest) -> bytes:
        """Make the bytes of a request; RenderFailed where that cannot be done."""
        ...


class MediaCache:
    """Bytes by request, made at most once at a time; the longest unused go first.

    A file is the checksum of the bytes followed by the bytes, so a torn or altered one is noticed
    and made anew. `limit_bytes` bounds the files together.
    """

    def __init__(self, folder: Path, worker: Renderer, *, limit_bytes: int = 256 * 2**20) -> None:
        self._folder = folder
        self._worker = worker
        self._limit_bytes = limit_bytes
        self._sizes: dict[str, int] | None = None  # by digest, longest unused first
        self._opening = asyncio.Lock()
        self._flights: dict[str, asyncio.Task[bytes]] = {}

    async def get_or_make(self, request: MediaRequest) -> bytes:
        """Bytes of a request, from disk or new; RenderFailed where they cannot be made."""
        digest = request.digest()
        flight = self._flights.get(digest)
        if flight is None:
            flight = asyncio.create_task(self._fetch(request, digest))
            self._flights[digest] = flight
            flight.add_done_callback(lambda task: self._land(digest, task))
        # Shielded: one caller who goes away does not take the others' bytes along.
        return await asyncio.shield(flight)

    def _land(self, digest: str, task: asyncio.Task[bytes]) -> None:
        del self._flights[digest]
        if not task.cancelled():
            task.exception()  # looked at, so that asyncio does not report it once more

    async def _fetch(self, request: MediaRequest, digest: str) -> bytes:
        sizes = await self._known()
        if digest in sizes:
            found = await asyncio.to_thread(_read, self._folder / digest)
            if found is not None:
                if digest in sizes:  # else it went to make room while it was read
                    sizes[digest] = sizes.pop(digest)
                return found
            _log.warning("a file in the media cache is damaged or gone; it is made anew")
            sizes.pop(digest, None)
        made = await self._worker.render(request)
        await self._keep(digest, made)
        return made

    async def _known(self) -> dict[str, int]:
        async with self._opening:
            if self._sizes is None:
                self._sizes = await asyncio.to_thread(_open, self._folder)
            return self._sizes

    async def _keep(self, digest: str, made: bytes) -> None:
        """Write a file and make room; a full or broken disk costs the cache, not the caller."""
        sizes = await self._known()
        try:
            sizes[digest] = await asyncio.to_thread(_write, self._folder / digest, made)
            await asyncio.to_thread(_remove, [self._folder / old for old in self._spare(sizes)])
        except OSError as error:
            _log.warning("the media cache could not be written: %s", error.strerror)

    def _spare(self, sizes: dict[str, int]) -> list[str]:
        """Take the longest unused out of the list until the rest fits; the newest always stays."""
        spare: list[str] = []
        total = sum(sizes.values())
        while total > self._limit_bytes and len(sizes) > 1:
            oldest = next(iter(sizes))
            total -= sizes.pop(oldest)
            spare.append(oldest)
        return spare


def _open(folder: Path) -> dict[str, int]:
    """Make the folder if need be, sweep up after a crash, list what is there, oldest first."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    folder.chmod(0o700)
    found: list[tuple[float, str, int]] = []
    for path in folder.iterdir():
        if _DIGEST.fullmatch(path.name):
            state = path.stat()
            found.append((state.st_mtime, path.name, state.st_size))
        elif path.suffix == ".part":
            path.unlink(missing_ok=True)
    return {name: size for _, name, size in sorted(found)}


def _read(path: Path) -> bytes | None:
    """The bytes behind a checksum, None where the file is gone or does not match it."""
    try:
        stored = path.read_bytes()
    except OSError:
        return None
    checksum, made = stored[:_CHECKSUM_BYTES], stored[_CHECKSUM_BYTES:]
    return made if hashlib.sha256(made).digest() == checksum else None


def _remove(paths: list[Path]) -> None:
    for path in paths:
        path.unlink(missing_ok=True)


def _write(path: Path, made: bytes) -> int:
    """Write beside the place and move in, so that no half file ever stands there; its size."""
    handle, temporary = tempfile.mkstemp(suffix=".part", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(hashlib.sha256(made).digest() + made)
        Path(temporary).replace(path)
    except OSError:
        with contextlib.suppress(OSError):
            Path(temporary).unlink()
        raise
    return _CHECKSUM_BYTES + len(made)
