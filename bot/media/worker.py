"""One process of its own that makes pictures and sounds, so that taps are answered meanwhile.

The process is spawned (a fork would copy the server's sockets and locks) and serves one request
after the other over a pipe. It leaves when the pipe closes, so it does not outlive a server that
was killed. Nothing heavy is imported on this side: the engravers load in the process only.
"""

from __future__ import annotations

import asyncio
import atexit
import multiprocessing
from dataclasses import dataclass
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from types import TracebackType
from typing import Self

from bot.errors import RenderFailed
from bot.media.request import MediaRequest

_TRIES = 2
_LEAVE_S = 5.0


class _Crashed(Exception):
    """The process ended in the middle of a request."""


class _TooLong(Exception):
    """No answer came within the limit."""


class MediaWorker:
    """Makes bytes off the event loop; an async context manager.

    Requests wait in line. One that takes longer than `limit_s` fails and the process is replaced;
    one in whose middle the process dies is tried once more in a fresh process.
    """

    def __init__(self, *, limit_s: float = 30.0) -> None:
        self._limit_s = limit_s
        self._line = asyncio.Lock()
        self._child: _Child | None = None
        self._running: set[asyncio.Task[bytes]] = set()
        self._open = False

    async def __aenter__(self) -> Self:
        """Start the process and let it load its libraries while others go on."""
        self._open = True
        self._begin(None)
        return self

    async def __aexit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """End the process, busy or idle; it holds nothing that could be lost. Requests fail."""
        self._open = False
        if self._child is not None:
            self._child.kill()  # which wakes the thread that waits for its answer
        await asyncio.gather(*self._running, return_exceptions=True)
        await self._replace()

    async def render(self, request: MediaRequest) -> bytes:
        """Make the bytes of a request; RenderFailed where that cannot be done.

        A caller that is cancelled leaves its request to run to its end, so that the next one in
        line does not get this one's answer.
        """
        return await asyncio.shield(self._begin(request))

    @property
    def process_id(self) -> int | None:
        """The process at work just now, None between two."""
        return None if self._child is None else self._child.process.pid

    def _begin(self, request: MediaRequest | None) -> asyncio.Task[bytes]:
        task = asyncio.create_task(self._serve(request))
        self._running.add(task)
        task.add_done_callback(self._finish)
        return task

    def _finish(self, task: asyncio.Task[bytes]) -> None:
        self._running.discard(task)
        if not task.cancelled():
            task.exception()  # looked at, so that asyncio does not report it once more

    async def _serve(self, request: MediaRequest | None) -> bytes:
        async with self._line:
            for _ in range(_TRIES):
                try:
                    child = await self._present()
                    return await asyncio.to_thread(child.ask, request, self._limit_s)
                except _Crashed:
                    await self._replace()
                except _TooLong as error:
                    await self._replace()
                    raise RenderFailed(f"it takes longer than {self._limit_s:g} s") from error
            raise RenderFailed(f"the media process died {_TRIES} times over one request")

    async def _present(self) -> _Child:
        if self._child is None and self._open:
            self._child = await asyncio.to_thread(_Child.start)
        if self._child is None or not self._open:
            raise RenderFailed("the media worker is closed")
        return self._child

    async def _replace(self) -> None:
        """Drop the process; the next request starts another."""
        child, self._child = self._child, None
        if child is not None:
            await asyncio.to_thread(child.end)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Child:
    """The process and this side's end of its pipe; the methods block, so they run in threads."""

    process: BaseProcess
    pipe: Connection

    @classmethod
    def start(cls) -> _Child:
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe()
        process = context.Process(target=_work, args=(theirs,), name="riserbell-media", daemon=True)
        process.start()
        theirs.close()
        child = cls(process=process, pipe=ours)
        # Should the interpreter end without __aexit__, multiprocessing would ask the process to
        # terminate, which it ignores, and wait for it for ever.
        atexit.register(process.kill)
        return child

    def ask(self, request: MediaRequest | None, limit_s: float) -> bytes:
        try:
            self.pipe.send(request)
            if not self.pipe.poll(limit_s):
                raise _TooLong
            made: bytes | RenderFailed = self.pipe.recv()
        except (OSError, EOFError) as error:
            raise _Crashed from error
        if isinstance(made, RenderFailed):
            raise made
        return made

    def kill(self) -> None:
        self.process.kill()

    def end(self) -> None:
        self.process.kill()
        self.process.join(_LEAVE_S)
        self.pipe.close()
        atexit.unregister(self.process.kill)


def _work(pipe: Connection) -> None:
    """Run in the process: load the engravers there, and only there."""
    from bot.media.child import serve

    serve(pipe)
