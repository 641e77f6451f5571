"""The gateway's protocol, spoken by hand, and an unmodified discord.py that lives through it."""

from __future__ import annotations

import asyncio
import json
import zlib

import aiohttp
import discord as library
import pytest

from tests.standin.gateway import GUILDS, PRIVILEGED
from tests.standin.library import library_at, until
from tests.standin.person import Person
from tests.standin.server import TOKEN


class Socket:
    """A gateway connection without any library; reads one event at a time."""

    def __init__(self, socket, *, compressed=False):
        self._socket, self._inflate = socket, zlib.decompressobj() if compressed else None

    async def read(self):
        message = await self._socket.receive(timeout=5)
        if message.type is aiohttp.WSMsgType.BINARY:
            return json.loads(self._inflate.decompress(message.data))
        if message.type is aiohttp.WSMsgType.TEXT:
            return json.loads(message.data)
        return {"closed": message.data}

    async def until(self, name):
        while True:
            event = await self.read()
            if name in (event.get("t"), event.get("op")) or "closed" in event:
                return event

    async def send(self, op, data):
        await self._socket.send_str(json.dumps({"op": op, "d": data}))

    async def identify(self, intents=GUILDS, token=TOKEN):
        await self.send(2, {"token": token, "intents": intents, "properties": {}})


@pytest.fixture
async def connect(discord):
    async with aiohttp.ClientSession() as session:

        async def open_one(query=""):
            socket = await session.ws_connect(discord.gateway.address + query)
            line = Socket(socket, compressed="zlib" in query)
            assert (await line.read())["op"] == 10
            return line

        yield open_one


async def test_hello_identify_ready_and_the_servers_come_in_order(discord, guild, connect):
    line = await connect()
    await line.identify()

    events = [await line.read() for _ in range(2)]

    assert [one["t"] for one in events] == ["READY", "GUILD_CREATE"]
    assert [one["s"] for one in events] == [1, 2]
    assert events[1]["d"]["id"] == guild.id


async def test_the_stream_is_compressed_where_the_client_asks(discord, guild, connect):
    line = await connect("?compress=zlib-stream")
    await line.identify()

    assert (await line.until("GUILD_CREATE"))["d"]["name"] == "a school"
    assert discord.gateway.compressed == 1


async def test_a_heartbeat_is_acknowledged_unless_the_gateway_is_deaf(discord, connect):
    line = await connect()
    await line.send(1, None)
    assert (await line.read())["op"] == 11

    discord.gateway.deaf = True
    await line.send(1, None)

    with pytest.raises(TimeoutError):
        await asyncio.wait_for(line.read(), 0.1)
    assert discord.gateway.heartbeats == 1


@pytest.mark.parametrize(
    ("intents", "token", "code"),
    [(GUILDS | PRIVILEGED, TOKEN, 4014), (GUILDS, "wrong", 4004)],
)
async def test_a_wrong_identify_is_closed_with_its_code(connect, intents, token, code):
    line = await connect()
    await line.identify(intents, token)

    assert (await line.read())["closed"] == code


async def test_events_go_only_to_sessions_that_asked_for_them(discord, guild, connect):
    line = await connect()
    await line.identify(intents=0)
    await line.until("READY")

    await discord.gateway.join(guild)
    await discord.gateway.event("INTERACTION_CREATE", {"id": "1"})

    assert (await line.read())["t"] == "INTERACTION_CREATE"


async def test_a_resumed_session_gets_what_it_missed(discord, guild, connect):
    line = await connect()
    await line.identify()
    session = (await line.until("READY"))["d"]["session_id"]
    await line.until("GUILD_CREATE")
    await discord.gateway.cut()
    await discord.gateway.event("INTERACTION_CREATE", {"id": "7"})

    again = await connect()
    await again.send(6, {"token": TOKEN, "session_id": session, "seq": 2})

    assert (await again.read())["d"] == {"id": "7"}
    assert (await again.read())["t"] == "RESUMED"


async def test_a_session_that_is_gone_cannot_be_resumed(discord, connect):
    line = await connect()

    await line.send(6, {"token": TOKEN, "session_id": "gone", "seq": 1})

    assert await line.read() == {"op": 9, "d": False}


async def test_a_gateway_that_is_down_refuses_the_connection(discord):
    discord.gateway.down = True

    async with aiohttp.ClientSession() as session:
        with pytest.raises(aiohttp.WSServerHandshakeError):
            await session.ws_connect(discord.gateway.address)


class _Client(library.Client):
    """Defers whatever it is asked."""

    def __init__(self):
        intents = library.Intents.none()
        intents.guilds = True
        super().__init__(intents=intents)
        self.heard = []

    async def on_interaction(self, interaction):
        self.heard.append(interaction)
        await interaction.response.defer()


@pytest.fixture
async def client(discord, guild, channel):
    with library_at(discord.url, discord.gateway.address):
        async with _Client() as client:
            running = asyncio.create_task(client.start(TOKEN))
            await until(client.is_ready)
            yield client
            await client.close()
            await running


async def test_the_library_logs_in_and_sees_the_server(discord, guild, channel, client):
    assert [one.name for one in client.guilds] == ["a school"]
    me = client.guilds[0].me
    assert client.get_channel(int(channel.id)).permissions_for(me).read_message_history
    assert discord.gateway.identified[0]["intents"] == GUILDS
    assert discord.violations == []


@pytest.mark.parametrize("way", ["reconnect", "invalid, resumable", "invalid", "cut"])
async def test_the_library_answers_a_press_after_each_way_to_lose_it(
    discord, guild, channel, client, way
):
    match way:
        case "reconnect":
            await discord.gateway.ask_to_reconnect()
        case "invalid, resumable":
            await discord.gateway.invalidate(resumable=True)
        case "invalid":
            await discord.gateway.invalidate(resumable=False)
        case "cut":
            await discord.gateway.cut()
    resumes = way != "invalid"
    await until(lambda: discord.gateway.resumed == 1 or len(discord.gateway.identified) == 2)
    await until(lambda: discord.gateway.connected)

    discord.world.commands = [{"id": "5", "name": "about", "type": 1, "options": []}]
    answer = await Person(discord, guild, "lark").run(channel, "/about")

    assert answer.callback == 5
    assert discord.gateway.resumed == (1 if resumes else 0)
