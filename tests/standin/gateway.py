"""The gateway: hello, identify, ready, servers, heartbeats, resume, and its ways to fail."""

from __future__ import annotations

import asyncio
import contextlib
import json
import secrets
import zlib
from dataclasses import dataclass, field

from aiohttp import WSMsgType, web

from tests.standin import shapes
from tests.standin.world import Guild, Json, World

GUILDS = 1 << 0
GUILD_MESSAGES = 1 << 9
PRIVILEGED = (1 << 1) | (1 << 8) | (1 << 15)
_DISPATCH, _HEARTBEAT, _IDENTIFY, _RESUME = 0, 1, 2, 6
_RECONNECT, _INVALID, _HELLO, _ACK = 7, 9, 10, 11


class Line:
    """One connection, compressed as the client asked: one zlib stream, flushed per message."""

    def __init__(
        self, socket: web.WebSocketResponse, transport: asyncio.Transport, *, compressed: bool
    ) -> None:
        self.socket = socket
        self.transport = transport
        self._deflate = zlib.compressobj() if compressed else None
        self._lock = asyncio.Lock()

    async def send(self, payload: Json) -> None:
        text = json.dumps(payload)
        async with self._lock:
            if self._deflate is None:
                await self.socket.send_str(text)
                return
            data = self._deflate.compress(text.encode()) + self._deflate.flush(zlib.Z_SYNC_FLUSH)
            await self.socket.send_bytes(data)


@dataclass(kw_only=True)
class Session:
    """What a client may resume: its intents and every event it was sent."""

    id: str
    intents: int
    line: Line | None = None
    sent: list[Json] = field(default_factory=list)

    async def event(self, name: str, data: Json) -> None:
        payload = {"op": _DISPATCH, "t": name, "s": len(self.sent) + 1, "d": data}
        self.sent.append(payload)
        if self.line is not None:
            with contextlib.suppress(ConnectionError, RuntimeError):
                await self.line.send(payload)


class Gateway:
    """All sessions. Tests read `identified` and `heartbeats` and call the ways to fail."""

    def __init__(self, world: World) -> None:
        self._world = world
        self.address = ""
        self.sessions: dict[str, Session] = {}
        self.identified: list[Json] = []
        self.resumed = 0
        self.heartbeats = 0
        self.compressed = 0
        self.down = False
        self.deaf = False
        self.allowed_intents = (1 << 30) - 1 & ~PRIVILEGED
        self.heartbeat_ms = 41250

    # what tests do to it

    async def ask_to_reconnect(self) -> None:
        """Send op 7: the client closes and resumes."""
        for line in self._lines():
            await line.send({"op": _RECONNECT, "d": None})

    async def invalidate(self, *, resumable: bool) -> None:
        """Send op 9; where it is not resumable the client must identify anew."""
        for line in self._lines():
            await line.send({"op": _INVALID, "d": resumable})
        if not resumable:
            self.sessions.clear()

    async def cut(self) -> None:
        """Drop every connection without a word."""
        for line in self._lines():
            line.transport.abort()
        await asyncio.sleep(0)

    async def close(self, code: int) -> None:
        """Close every connection with a code."""
        for line in self._lines():
            await line.socket.close(code=code)

    def forget_sessions(self) -> None:
        """After this no client can resume."""
        self.sessions.clear()

    @property
    def connected(self) -> bool:
        """Whether any client is there now."""
        return bool(self._lines())

    def _lines(self) -> list[Line]:
        return [one.line for one in self.sessions.values() if one.line is not None]

    # what the world does through it

    async def event(self, name: str, data: Json, intent: int = 0) -> None:
        """Send an event to every session that asked for its intent (0: no intent is needed)."""
        for session in list(self.sessions.values()):
            if not intent or session.intents & intent:
                await session.event(name, data)

    async def join(self, guild: Guild) -> None:
        """The bot was invited to another server; then the event says nothing of `unavailable`."""
        shown = shapes.guild(self._world, guild)
        del shown["unavailable"]
        await self.event("GUILD_CREATE", shown, GUILDS)

    async def leave(self, guild_id: str, *, outage: bool = False) -> None:
        """The bot is out of a server, or the server has an outage."""
        data: Json = {"id": guild_id}
        await self.event("GUILD_DELETE", data | ({"unavailable": True} if outage else {}), GUILDS)

    # the protocol

    async def handle(self, request: web.Request) -> web.StreamResponse:
        """Serve one connection."""
        if self.down:
            return web.Response(status=503)
        socket = web.WebSocketResponse(max_msg_size=0)
        await socket.prepare(request)
        compressed = request.query.get("compress") == "zlib-stream"
        self.compressed += compressed
        line = Line(socket, request.transport, compressed=compressed)
        await line.send({"op": _HELLO, "d": {"heartbeat_interval": self.heartbeat_ms}, "s": None})
        session: Session | None = None
        try:
            async for message in socket:
                if message.type is WSMsgType.TEXT and not self.deaf:
                    session = await self._receive(json.loads(message.data), line) or session
        finally:
            if session is not None and session.line is line:
                session.line = None
        return socket

    async def _receive(self, payload: Json, line: Line) -> Session | None:
        data = payload.get("d")
        match payload["op"]:
            case 1:
                self.heartbeats += 1
                await line.send({"op": _ACK})
            case 2:
                return await self._identify(data, line)
            case 6:
                return await self._resume(data, line)
        return None

    async def _identify(self, data: Json, line: Line) -> Session | None:
        self.identified.append(data)
        if data["token"].removeprefix("Bot ") != self._world.token:
            await line.socket.close(code=4004, message=b"Authentication failed.")
            return None
        if data["intents"] & ~self.allowed_intents:
            await line.socket.close(code=4014, message=b"Disallowed intent(s).")
            return None
        session = Session(id=secrets.token_hex(8), intents=data["intents"], line=line)
        self.sessions[session.id] = session
        world = self._world
        application = {"id": world.application_id, "flags": 0}
        ready = {
            "v": 10,
            "user": shapes.own_user(world),
            "guilds": [{"id": one, "unavailable": True} for one in world.guilds],
            "session_id": session.id,
            "resume_gateway_url": self.address,
            "application": application,
            "shard": [0, 1],
        }
        await session.event("READY", ready)
        if session.intents & GUILDS:
            for guild in list(world.guilds.values()):
                await session.event("GUILD_CREATE", shapes.guild(world, guild))
        return session

    async def _resume(self, data: Json, line: Line) -> Session | None:
        session = self.sessions.get(data["session_id"])
        if session is None or data["token"].removeprefix("Bot ") != self._world.token:
            await line.send({"op": _INVALID, "d": False})
            return None
        session.line = line
        self.resumed += 1
        for payload in session.sent[data["seq"] or 0 :]:
            await line.send(payload)
        await session.event("RESUMED", {})
        return session
