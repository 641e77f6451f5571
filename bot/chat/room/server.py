"""The room: a local web server that is also a surface, so the service can post to it."""

from __future__ import annotations

import asyncio
import errno
from dataclasses import dataclass
from datetime import date

from aiohttp import web
from aiohttp.typedefs import Middleware
from aiohttp.web_protocol import RequestHandler

from bot.chat.room.assets import load_assets
from bot.chat.room.live import Hub
from bot.chat.room.lock import Sessions, Throttle
from bot.chat.room.pages import load_pages
from bot.chat.room.parts import Parts
from bot.chat.room.routes import build_application
from bot.chat.room.safety import Address, Handler
from bot.errors import SettingsProblem
from bot.service.card import Card, ScoreCard, StoryCard
from bot.service.services import Services

_FIRST_REQUEST_S = 15.0
_KEEPALIVE_S = 75.0
_GOODBYE_S = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomOptions:
    """Where the room listens (port 0: any free one) and what it is called from outside."""

    host: str = "127.0.0.1"
    port: int = 8765
    public_url: str | None = None
    demo: bool = False


class Room:
    """The server. What is up on its boards is what the store says; nothing is kept here."""

    def __init__(self, services: Services, options: RoomOptions) -> None:
        self._options = options
        assets = load_assets()
        self._parts = Parts(
            services=services,
            address=Address(host=options.host, port=options.port, public_url=options.public_url),
            demo=options.demo,
            assets=assets,
            pages=load_pages(services.content.wording, assets, demo=options.demo),
            hub=Hub(),
            sessions=Sessions(),
            throttle=Throttle(),
            latest={},
        )
        services.stories.tellings.heard_by(self._story_went_on)
        self._runner: web.AppRunner | None = None
        self._server: asyncio.Server | None = None
        self._silent: set[RequestHandler] = set()

    @property
    def name(self) -> str:
        """The surface's name in delivery rows."""
        return "room"

    @property
    def url(self) -> str:
        """Where to open the room; final once it has started."""
        return self._parts.address.url

    async def start(self) -> None:
        """Listen; SettingsProblem where the port is taken or the address is not ours."""
        stage_key = await self._parts.services.desk.stage_key()
        application = build_application(self._parts, self._note_connection(), stage_key)
        # No access log: it would hold addresses. No decompression: a small body must not grow.
        runner = web.AppRunner(
            application,
            access_log=None,
            handle_signals=False,
            auto_decompress=False,
            keepalive_timeout=_KEEPALIVE_S,
            shutdown_timeout=_GOODBYE_S,
        )
        await runner.setup()
        try:
            self._server = await asyncio.get_running_loop().create_server(
                lambda: self._patient(runner), self._options.host, self._options.port
            )
        except OSError as error:
            await runner.cleanup()
            raise _cannot_listen(self._options, error) from error
        self._runner = runner
        port = self._server.sockets[0].getsockname()[1]
        self._parts.address = Address(
            host=self._options.host, port=port, public_url=self._options.public_url
        )

    async def stop(self) -> None:
        """End live boards, finish what is being answered, and close."""
        self._parts.hub.close()
        if self._server is not None:
            self._server.close()
        if self._runner is not None:
            await self._runner.cleanup()
        self._server = self._runner = None

    async def carried_since(self, choir_id: str) -> date | None:
        """Every choir has a board from its first day on."""
        return date.min

    async def post(self, card: Card, nonce: str) -> str:
        """Put the card on its choir's board, which shows it at once without a reload."""
        if isinstance(card, StoryCard):
            self._story_went_on(card.choir_id)
            return card.key
        if isinstance(card, ScoreCard):
            return card.key  # the board of a match and the class's show it as it stands
        self._parts.latest[card.choir_id] = card
        self._parts.hub.announce(card.choir_id, card.reading_id)
        return card.reading_id

    async def find(self, card: Card) -> str | None:
        """The card's id if the board has it."""
        if isinstance(card, StoryCard):
            told = await self._parts.services.stories.tellings.now(card.choir_id)
            return None if told is None else card.key
        if isinstance(card, ScoreCard):
            return card.key
        board = await self._parts.services.readings.board(card.choir_id)
        return next((up.reading_id for up in board if up.key == card.key), None)

    async def renew(self, card: Card, message_id: str) -> None:
        """Nothing is to be done: a board shows what the store holds."""

    def _story_went_on(self, choir_id: str) -> None:
        """Let the choir's boards fetch the scene as it stands."""
        self._parts.hub.announce(choir_id, "story")

    def _patient(self, runner: web.AppRunner) -> asyncio.Protocol:
        """A connection that is closed unless its first request has come within seconds."""
        assert runner.server is not None
        connection = runner.server()
        self._silent.add(connection)
        asyncio.get_running_loop().call_later(_FIRST_REQUEST_S, self._hang_up, connection)
        return connection

    def _hang_up(self, connection: RequestHandler) -> None:
        if connection in self._silent:
            self._silent.discard(connection)
            connection.force_close()

    def _note_connection(self) -> Middleware:
        @web.middleware
        async def note(request: web.Request, handler: Handler) -> web.StreamResponse:
            self._silent.discard(request.protocol)
            return await handler(request)

        return note


def _cannot_listen(options: RoomOptions, error: OSError) -> SettingsProblem:
    where = f"{options.host}:{options.port}"
    if error.errno == errno.EADDRINUSE:
        return SettingsProblem(
            f"{where} is taken by another program: choose another with --port, for example "
            f"--port {options.port + 1}"
        )
    return SettingsProblem(f"the room cannot listen at {where}: {error.strerror or error}")
