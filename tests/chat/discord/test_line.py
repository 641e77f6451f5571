"""The line to Discord: it comes back by itself, and only a wrong setting ends it."""

from __future__ import annotations

import asyncio
import logging
from contextlib import suppress

import pytest

from bot.chat.discord.surface import DiscordOptions, quieten_library
from bot.errors import SettingsProblem, SurfaceUnavailable
from tests.chat.discord.stage import a_stage
from tests.standin.faults import Fault, Kind
from tests.standin.gateway import GUILDS
from tests.standin.library import until
from tests.standin.person import finished


@pytest.fixture(autouse=True)
def _short_pauses(monkeypatch):
    monkeypatch.setattr("bot.chat.discord.surface._FIRST_PAUSE_S", 0.05)


async def _still_works(stage, surface):
    await until(lambda: surface.connected)
    message_id = await surface.post(stage.card(), "nonce")
    given = await finished(await stage.person("lark").press(stage.posted()[0], "Part I"))
    assert stage.posted()[0].id == message_id
    assert given.files


@pytest.mark.parametrize("way", ["reconnect", "invalid", "cut"])
async def test_it_comes_back_after_each_way_to_be_cut_off(stage, surface, way):
    gateway = stage.discord.gateway
    match way:
        case "reconnect":
            await gateway.ask_to_reconnect()
        case "invalid":
            await gateway.invalidate(resumable=False)
        case "cut":
            await gateway.cut()
    await until(lambda: gateway.resumed or len(gateway.identified) == 2)

    await _still_works(stage, surface)


async def test_what_was_pressed_while_the_line_was_down_is_answered_after_it(
    stage, surface, monkeypatch
):
    # The library takes up to some seconds to come back; the person waits that long here.
    monkeypatch.setattr("tests.standin.person.FIRST_ANSWER_S", 20.0)
    monkeypatch.setattr("tests.standin.interactions.FIRST_ANSWER_S", 20.0)
    await surface.post(stage.card(), "nonce")
    gateway = stage.discord.gateway
    gateway.down = True
    await gateway.cut()
    await until(lambda: not gateway.connected)

    pressing = asyncio.create_task(stage.person("lark").press(stage.posted()[0], "Part I"))
    await asyncio.sleep(0.1)
    gateway.down = False

    given = await finished(await pressing)
    assert given.embed["title"].startswith("Part I ")


async def test_a_gateway_that_is_down_at_the_start_only_delays_it(stage):
    stage.discord.gateway.down = True
    surface = stage.surface()
    running = asyncio.create_task(surface.run())
    await asyncio.sleep(0.3)
    assert not running.done()

    stage.discord.gateway.down = False

    await asyncio.wait_for(surface.until_connected(), 10)
    await _still_works(stage, surface)
    running.cancel()
    with suppress(asyncio.CancelledError):
        await running


async def test_no_network_at_all_at_the_start_only_delays_it(stage):
    port = stage.discord.port
    await stage.discord.stop()
    surface = stage.surface()
    running = asyncio.create_task(surface.run())
    await asyncio.sleep(0.3)
    assert not running.done()

    await stage.discord.start(port)

    await asyncio.wait_for(surface.until_connected(), 10)
    running.cancel()
    with suppress(asyncio.CancelledError):
        await running


async def test_while_it_is_cut_off_nothing_is_begun_and_afterwards_the_service_is_told(
    stage, surface
):
    listener = stage.changes.listen()
    stage.discord.gateway.down = True
    await stage.discord.gateway.cut()
    await until(lambda: not surface.connected)

    with pytest.raises(SurfaceUnavailable):
        await surface.carried_since(stage.choir.id)
    stage.discord.gateway.down = False

    await asyncio.wait_for(listener.wait(), 10)
    assert await surface.carried_since(stage.choir.id) is not None


async def test_a_wrong_token_gives_one_clear_message_without_the_token(stage):
    stage.token = "wrong.token-of.mine"

    with pytest.raises(SettingsProblem, match="does not accept the bot's token") as problem:
        await stage.surface().run()

    assert "wrong.token-of.mine" not in str(problem.value)
    assert "\n" not in str(problem.value)


async def test_a_token_that_is_reset_while_it_runs_ends_it_with_the_same_message(stage):
    surface = stage.surface()
    running = asyncio.create_task(surface.run())
    await surface.until_connected()
    stage.discord.world.token = "another"

    await stage.discord.gateway.close(4004)

    with pytest.raises(SettingsProblem, match="token"):
        await asyncio.wait_for(running, 10)


async def test_when_it_is_told_to_end_it_says_goodbye(stage):
    surface = stage.surface()
    running = asyncio.create_task(surface.run())
    await surface.until_connected()

    running.cancel()
    with pytest.raises(asyncio.CancelledError):
        await running

    await until(lambda: not stage.discord.gateway.connected)
    assert not surface.connected


async def test_it_works_with_an_empty_data_folder(tmp_path):
    async with a_stage(tmp_path, linked=False) as stage:
        await stage.services.choirs.remove(stage.choir.id)
        async with stage.connected() as surface:
            assert surface.connected


async def test_commands_that_cannot_be_registered_do_not_keep_it_from_posting(stage):
    stage.discord.faults.add(
        Fault(
            kind=Kind.ERROR_BEFORE,
            method="PUT",
            template="/applications/{application_id}/commands",
            value=403,
        )
    )

    async with stage.connected() as surface:
        await surface.post(stage.card(), "nonce")

    assert len(stage.posted()) == 1


async def test_it_asks_for_servers_and_nothing_else(stage, surface):
    assert [one["intents"] for one in stage.discord.gateway.identified] == [GUILDS]
    assert stage.discord.gateway.compressed == 1


async def test_no_member_is_kept_in_memory(stage, surface):
    await surface.post(stage.card(), "nonce")
    await finished(await stage.person("lark").press(stage.posted()[0], "Part I"))

    connection = surface._connection
    assert [member.id for member in connection.guilds[0].members] == [connection.user.id]
    assert list(connection.cached_messages) == []


def test_the_libraries_debug_logs_stay_off_even_where_all_others_are_on():
    before = {name: logging.getLogger(name).level for name in ("discord", "aiohttp")}
    try:
        logging.getLogger("discord").setLevel(logging.DEBUG)

        quieten_library()

        assert not logging.getLogger("discord.gateway").isEnabledFor(logging.DEBUG)
        assert not logging.getLogger("aiohttp.client").isEnabledFor(logging.DEBUG)
    finally:
        for name, level in before.items():
            logging.getLogger(name).setLevel(level)


def test_the_token_is_not_in_the_options_text():
    assert "secret" not in repr(DiscordOptions(token="secret"))
