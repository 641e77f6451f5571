"""`riserbell serve` and `riserbell discord` as commands, from the token to a clean end."""

from __future__ import annotations

import asyncio
import os
import re
import signal
import sys
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from bot.app import start
from bot.cli import main
from bot.errors import SettingsProblem
from bot.settings import TOKEN_FILE, TOKEN_VARIABLE, Settings
from tests.standin.library import until
from tests.standin.server import TOKEN, Discord

_ROOT = Path(__file__).parents[2]
_APPLICATION = "MTIzNDU2Nzg5MA.Gx.rest"
_STARTED_S = 60.0  # a busy machine takes its time to start Python and the media process


@asynccontextmanager
async def serving(discord, folder, *, token=None):
    """The command in a process of its own; its lines of output come one by one."""
    environment = {name: value for name, value in os.environ.items() if name != TOKEN_VARIABLE}
    if token is not None:
        environment[TOKEN_VARIABLE] = token
    process = await asyncio.create_subprocess_exec(
        sys.executable, "-m", "tests.system.command_at_standin", discord.url,
        discord.gateway.address, "serve", "--data", folder, "--port", "0",
        cwd=_ROOT, env=environment, stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.PIPE,
    )  # fmt: skip
    try:
        yield process
    finally:
        if process.returncode is None:
            process.kill()
            await process.wait()


async def _line(process, part):
    """Read lines until one holds `part`."""
    async with asyncio.timeout(_STARTED_S):
        while part not in (line := (await process.stdout.readline()).decode()):
            assert line, (await process.stderr.read()).decode()
    return line


async def _ended(process):
    process.send_signal(signal.SIGTERM)
    async with asyncio.timeout(_STARTED_S):
        _, errors = await process.communicate()
    return process.returncode, errors.decode()


async def test_it_connects_on_the_token_alone_survives_a_lost_network_and_ends_cleanly(tmp_path):
    async with Discord() as discord, serving(discord, tmp_path / "new", token=TOKEN) as process:
        await _line(process, "The room is open at http://127.0.0.1:")
        await _line(process, "The line to Discord stands.")
        assert [one["intents"] for one in discord.gateway.identified] == [1]  # guilds alone

        discord.gateway.down = True
        await discord.gateway.cut()
        await asyncio.sleep(0.5)
        assert process.returncode is None
        discord.gateway.down = False
        await until(lambda: discord.gateway.connected, 30)

        code, errors = await _ended(process)
        await until(lambda: not discord.gateway.connected)

        assert (code, errors.count("Traceback")) == (0, 0)
        assert TOKEN not in errors
        assert discord.violations == []


async def test_the_token_may_lie_in_a_file_of_its_owner_and_a_wrong_one_leaves_the_room_open(
    tmp_path,
):
    file = tmp_path / TOKEN_FILE
    file.touch(mode=0o600)
    file.write_text("MTA.wrong.token\n")
    async with Discord() as discord, serving(discord, tmp_path) as process:
        await _line(process, "The room is open at http://127.0.0.1:")
        await _line(process, "Discord does not accept the bot's token")

        assert process.returncode is None
        code, errors = await _ended(process)

        assert (code, errors) == (0, "")


def test_a_token_that_others_can_read_is_not_used(tmp_path, capsys, monkeypatch):
    monkeypatch.delenv(TOKEN_VARIABLE, raising=False)
    file = tmp_path / TOKEN_FILE
    file.touch(mode=0o644)
    file.write_text(TOKEN)

    assert main(["serve", "--data", str(tmp_path), "--port", "0"]) == 2
    assert "can be read by others: run `chmod 600" in capsys.readouterr().err


@pytest.mark.parametrize(("more", "number"), [([], 117760), (["--without-history"], 52224)])
def test_the_invitation_prints_link_and_number_and_the_age_first(
    tmp_path, capsys, monkeypatch, more, number
):
    monkeypatch.setenv(TOKEN_VARIABLE, _APPLICATION)

    assert main(["discord", "invite", "--data", str(tmp_path), *more]) == 0

    lines = capsys.readouterr().out.splitlines()
    assert "13 or older" in lines[0]
    assert "privacy policy" in lines[1]
    assert str(number) in lines[2]
    assert re.search(rf"client_id=1234567890&permissions={number}&", lines[3])
    assert _APPLICATION.rpartition(".")[2] not in "\n".join(lines)


@pytest.mark.parametrize(
    ("token", "said"), [(None, "no bot's token in"), ("nonsense", "is no bot's token")]
)
def test_without_a_token_the_invitation_says_what_to_do(tmp_path, capsys, monkeypatch, token, said):
    monkeypatch.delenv(TOKEN_VARIABLE, raising=False)
    if token is not None:
        monkeypatch.setenv(TOKEN_VARIABLE, token)

    assert main(["discord", "invite", "--data", str(tmp_path)]) == 2
    assert said in capsys.readouterr().err


def test_the_policy_is_printed_to_be_put_on_the_schools_page(tmp_path, capsys):
    assert main(["discord", "policy", "--data", str(tmp_path)]) == 0

    assert "`seat_links.link_tag`" in capsys.readouterr().out


async def test_invented_data_never_go_to_discord(tmp_path):
    with pytest.raises(SettingsProblem, match="invented data"):
        async with start(Settings(data=tmp_path, demo=True, port=0), token=TOKEN):
            pass
    assert list(tmp_path.iterdir()) == []
