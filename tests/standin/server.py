"""The stand-in itself: one small web server, a record of all it saw, and what tests turn on it."""

from __future__ import annotations

import asyncio
import json
import socket
import struct
from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from aiohttp import web

from tests.standin.faults import Fault, Faults, Kind
from tests.standin.gateway import Gateway
from tests.standin.interactions import Interactions
from tests.standin.limits import RateLimits, Refusal
from tests.standin.messages import REQUEST_BYTES, ApiError, Upload
from tests.standin.openapi import OpenApi, load_openapi
from tests.standin.routes import Call, Routes
from tests.standin.world import Clock, World

TOKEN = "MTA.stand-in.token-that-must-never-be-logged"
_API = "/api/v10"
_ANSWERED_S = 0.002  # after a route is done its answer is on the way


@dataclass(kw_only=True)
class Seen:
    """One request as it arrived, with the status it was answered (0: cut off)."""

    method: str
    template: str
    path: dict[str, str]
    body: Any
    files: dict[str, bytes] = field(default_factory=dict)
    at: float = 0.0
    status: int = 0


class Phase(StrEnum):
    """How far a request is."""

    ARRIVED = "arrived"  # nothing is done about it yet
    STORED = "stored"  # done, and not answered yet
    ANSWERED = "answered"  # the answer has left


class Discord:
    """Discord's API v10 on this machine: `async with Discord() as discord: ...`."""

    def __init__(self, *, check: bool = True, keep_files: bool = True) -> None:
        self.clock = Clock()
        self.world = World(self.clock, TOKEN)
        self.faults = Faults()
        self.limits = RateLimits(self.clock)
        self.gateway = Gateway(self.world)
        self.interactions = Interactions(self.world)
        self.seen: list[Seen] = []
        self.violations: list[str] = []
        self.own_violations: list[str] = []
        self.latency_s = 0.0
        # Called with a request and how far it is: a test may end the other side just then.
        self.watch: Callable[[Seen, Phase], None] = lambda seen, phase: None
        self.url = ""
        self._openapi: OpenApi | None = load_openapi() if check else None
        self._keep_files = keep_files
        self._routes = Routes(self.world, self.gateway, self.interactions)
        self._runner: web.AppRunner | None = None

    async def __aenter__(self) -> Discord:
        await self.start()
        return self

    async def __aexit__(self, *_: object) -> None:
        await self.stop()

    async def start(self, port: int = 0) -> None:
        """Listen on this machine; port 0 takes a free one."""
        app = web.Application(client_max_size=REQUEST_BYTES + 65536)
        app.router.add_get("/gateway", self.gateway.handle)
        app.router.add_get("/gateway/", self.gateway.handle)
        app.router.add_route("*", _API + "/{path:.*}", self._serve)
        self._runner = web.AppRunner(app, access_log=None, shutdown_timeout=0.1)
        await self._runner.setup()
        site = web.TCPSite(self._runner, "127.0.0.1", port)
        await site.start()
        bound = self._runner.addresses[0][1]
        self.url = f"http://127.0.0.1:{bound}{_API}"
        self.gateway.address = f"ws://127.0.0.1:{bound}/gateway/"

    async def stop(self) -> None:
        """Close everything."""
        if self._runner is not None:
            await self.gateway.cut()
            await self._runner.cleanup()
            self._runner = None

    @property
    def port(self) -> int:
        """Where it listens."""
        assert self._runner is not None
        return int(self._runner.addresses[0][1])

    def calls(self, method: str, template: str) -> list[Seen]:
        """Every request of one route so far."""
        return [one for one in self.seen if (one.method, one.template) == (method, template)]

    async def _serve(self, request: web.Request) -> web.StreamResponse:
        path = "/" + request.match_info["path"]
        found = self._routes.find(request.method, path)
        if found is None:
            self.violations.append(f"{request.method} {path}: the stand-in does not play this")
            return _json(404, {"message": "404: Not Found", "code": 0})
        template, values, route = found
        seen = Seen(method=request.method, template=template, path=values, body=None)
        seen.at = self.clock.now()
        self.seen.append(seen)
        if self.latency_s:
            await asyncio.sleep(self.latency_s)
        self.watch(seen, Phase.ARRIVED)
        fault = self.faults.next_for(request.method, template)
        refused = await self._before(fault, request)
        if refused is not None:
            seen.status = refused.status
            return refused
        open_route = template.startswith(("/interactions", "/webhooks"))
        if not open_route and request.headers.get("Authorization") != f"Bot {self.world.token}":
            seen.status = 401
            return _json(401, {"message": "401: Unauthorized", "code": 0})
        majors = ("channel_id", "guild_id", "webhook_token", "interaction_token")
        place = next((values[name] for name in majors if name in values), "")
        headers, refusal = self.limits.take(
            request.method, template, place, counts_globally=not open_route
        )
        if refusal is not None:
            seen.status = 429
            return _too_many(refusal, headers)
        call = Call(path=values, query=dict(request.query), upload=await _upload(request))
        seen.body = call.upload.body
        if self._keep_files:
            seen.files = dict(call.upload.files.values())
        status, body = await self._answer(request.method, template, call, route)
        seen.status = status
        self.watch(seen, Phase.STORED)
        answer = await self._after(fault, request, _json(status, body, headers))
        asyncio.get_running_loop().call_later(_ANSWERED_S, self.watch, seen, Phase.ANSWERED)
        return answer

    async def _answer(self, method: str, template: str, call: Call, route: Any) -> tuple[int, Any]:
        if self._openapi is not None:
            faults = self._openapi.request(
                method,
                template,
                path=call.path,
                query=call.query,
                body=call.upload.body,
                multipart=call.upload.multipart,
            )
            self.violations += faults
            if faults:
                return 400, {"message": "Invalid Form Body", "code": 50035}
        try:
            status, body = await route(call)
        except ApiError as error:
            status, body = error.status, {"message": error.text, "code": error.code}
            if status == 429:
                body |= {"retry_after": 1.0, "global": False}
        if self._openapi is not None:
            self.own_violations += self._openapi.answer(method, template, status, body)
        return status, body

    async def _before(self, fault: Fault | None, request: web.Request) -> web.Response | None:
        match fault and fault.kind:
            case Kind.LIMITED:
                return _too_many(Refusal(retry_after=fault.value, everywhere=False), {})
            case Kind.LIMITED_EVERYWHERE:
                return _too_many(Refusal(retry_after=fault.value, everywhere=True), {})
            case Kind.BANNED:
                return web.Response(status=429, text="banned", content_type="text/html")
            case Kind.ERROR_BEFORE:
                return _json(int(fault.value), {"message": "error", "code": 0})
            case Kind.RESET_BEFORE:
                _reset(request)
                return web.Response(status=500)
            case Kind.SLOW_BEFORE:
                await asyncio.sleep(fault.value)
        return None

    async def _after(
        self, fault: Fault | None, request: web.Request, answer: web.Response
    ) -> web.StreamResponse:
        match fault and fault.kind:
            case Kind.ERROR_AFTER:
                return _json(int(fault.value), {"message": "error", "code": 0})
            case Kind.RESET_AFTER:
                _reset(request)
            case Kind.SLOW_AFTER:
                await asyncio.sleep(fault.value)
        return answer


async def _upload(request: web.Request) -> Upload:
    if not request.can_read_body:
        return Upload()
    if not request.content_type.startswith("multipart/"):
        return Upload(body=json.loads(await request.text()))
    upload = Upload(multipart=True)
    async for part in await request.multipart():
        if part.name == "payload_json":
            upload.body = json.loads(await part.text())
        else:
            place = int(part.name.removeprefix("files[").removesuffix("]"))
            upload.files[place] = (part.filename or "", bytes(await part.read()))
    return upload


def _json(status: int, body: Any, headers: dict[str, str] | None = None) -> web.Response:
    if body is None:
        return web.Response(status=status, headers=headers)
    text = json.dumps(body).encode()
    given = {"Content-Type": "application/json", "Via": "1.1 google"} | (headers or {})
    return web.Response(status=status, body=text, headers=given)


def _too_many(refusal: Refusal, headers: dict[str, str]) -> web.Response:
    body = {
        "message": "You are being rate limited.",
        "retry_after": round(refusal.retry_after, 3),
        "global": refusal.everywhere,
        "code": 0,
    }
    return _json(429, body, headers | {"Retry-After": str(int(refusal.retry_after) + 1)})


def _reset(request: web.Request) -> None:
    """Cut the connection so that the other side gets ECONNRESET."""
    transport = request.transport
    if transport is None:
        return
    line = transport.get_extra_info("socket")
    line.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
    transport.abort()
