"""The commands of `bot/chat/commands.py` as Discord registers them."""

from __future__ import annotations

import hashlib
import json
import logging
from collections.abc import Callable, Coroutine
from dataclasses import dataclass
from typing import Any

import discord
from discord import app_commands

from bot.chat import commands as table
from bot.chat.discord.answer import Answers
from bot.chat.discord.desk_work import DeskWork
from bot.chat.discord.playful_work import PlayfulWork
from bot.chat.discord.posting import kind_of
from bot.chat.discord.read_work import ReadWork
from bot.chat.discord.seat_work import SeatWork
from bot.service.discord_links import DiscordLinks
from bot.wording import Wording

_log = logging.getLogger(__name__)

Asked = discord.Interaction[Any]
Offered = list[app_commands.Choice[str]]
Callback = Callable[..., Coroutine[Any, Any, None]]
Completion = Callable[[Asked, str], Coroutine[Any, Any, Offered]]


class Tree(app_commands.CommandTree[Any]):
    """Commands for servers only, installed to servers only."""

    def __init__(self, client: discord.Client) -> None:
        super().__init__(
            client,
            allowed_contexts=app_commands.AppCommandContext(
                guild=True, dm_channel=False, private_channel=False
            ),
            allowed_installs=app_commands.AppInstallationType(guild=True, user=False),
        )

    async def on_error(self, interaction: Asked, error: app_commands.AppCommandError, /) -> None:
        """Log the kind of an error; the library's own line could name more."""
        _log.warning("a command on Discord was not run: %s", kind_of(error))


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """What the commands do, by for whom they are."""

    read: ReadWork
    playful: PlayfulWork
    seats: SeatWork
    desk: DeskWork


def fill(tree: Tree, answers: Answers, work: Work, say: Wording) -> None:
    """Put every command of the table into the tree."""
    groups = {group.name: _group(group, say) for group in table.GROUPS}
    made = {
        **_read_commands(answers, work.read, say),
        **_playful_commands(answers, work, say),
        **_seat_commands(answers, work.seats, say),
        **_desk_commands(answers, work.desk, say),
    }
    for command in table.COMMANDS:
        place = tree if command.group is None else groups[command.group]
        place.add_command(made[command.line])
    for group in groups.values():
        tree.add_command(group)


async def register(tree: Tree, links: DiscordLinks) -> None:
    """Register the commands if they are not what was registered last: once a release, not a start.

    Discord counts registrations, and a client that knows an older form refuses it for a while.
    """
    payload = [command.to_dict(tree) for command in tree.get_commands()]
    text = json.dumps([tree.client.application_id, payload], sort_keys=True)
    digest = hashlib.sha256(text.encode()).hexdigest()
    if await links.commands_digest() == digest:
        return
    await tree.sync()
    await links.keep_commands_digest(digest)


def _read_commands(
    answers: Answers, read: ReadWork, say: Wording
) -> dict[str, app_commands.Command[Any, ..., Any]]:
    async def about(interaction: Asked) -> None:
        await answers.give(interaction, read.about)

    async def today(interaction: Asked) -> None:
        await answers.give(interaction, read.today)

    async def part(interaction: Asked, part: str) -> None:
        await answers.give(interaction, lambda call: read.part(call, part))

    async def key(interaction: Asked) -> None:
        await answers.give(interaction, read.key)

    async def score(interaction: Asked) -> None:
        await answers.give(interaction, read.score)

    async def parts(interaction: Asked, typed: str) -> Offered:
        return await answers.offer(interaction, typed, read.parts)

    return {
        spec.line: _command(spec, callback, say, **completions)
        for spec, callback, completions in (
            (table.ABOUT, about, {}),
            (table.READ_TODAY, today, {}),
            (table.READ_PART, part, {"part": parts}),
            (table.READ_KEY, key, {}),
            (table.READ_SCORE, score, {}),
        )
    }


def _playful_commands(
    answers: Answers, work: Work, say: Wording
) -> dict[str, app_commands.Command[Any, ..., Any]]:
    playful = work.playful

    async def film(interaction: Asked, part: str | None = None) -> None:
        await answers.give(interaction, lambda call: playful.film(call, part))

    async def way(interaction: Asked, way: str, part: str | None = None) -> None:
        await answers.give(interaction, lambda call: playful.way(call, way, part))

    async def tune(interaction: Asked) -> None:
        await answers.give(interaction, playful.tune)

    async def parts(interaction: Asked, typed: str) -> Offered:
        return await answers.offer(interaction, typed, work.read.parts)

    async def ways(interaction: Asked, typed: str) -> Offered:
        return await answers.offer(interaction, typed, playful.ways)

    return {
        spec.line: _command(spec, callback, say, **completions)
        for spec, callback, completions in (
            (table.READ_FILM, film, {"part": parts}),
            (table.READ_WAY, way, {"way": ways, "part": parts}),
            (table.READ_TUNE, tune, {}),
        )
    }


def _seat_commands(
    answers: Answers, seats: SeatWork, say: Wording
) -> dict[str, app_commands.Command[Any, ..., Any]]:
    async def row(interaction: Asked) -> None:
        await answers.give(interaction, seats.row)

    async def data(interaction: Asked) -> None:
        await answers.give(interaction, seats.data)

    async def span(interaction: Asked, beats: int | None = None) -> None:
        await answers.give(interaction, lambda call: seats.span(call, beats))

    async def leave(interaction: Asked) -> None:
        await answers.give(interaction, seats.leave)

    made = (
        (table.MY_ROW, row),
        (table.MY_DATA, data),
        (table.MY_SPAN, span),
        (table.MY_LEAVE, leave),
    )
    return {spec.line: _command(spec, callback, say) for spec, callback in made}


def _desk_commands(
    answers: Answers, desk: DeskWork, say: Wording
) -> dict[str, app_commands.Command[Any, ..., Any]]:
    async def preview(interaction: Asked, day: str | None = None) -> None:
        await answers.give(interaction, lambda call: desk.preview(call, day))

    async def redraw(interaction: Asked, day: str | None = None) -> None:
        await answers.give(interaction, lambda call: desk.redraw(call, day))

    async def post(interaction: Asked) -> None:
        await answers.give(interaction, desk.post)

    async def plan(interaction: Asked) -> None:
        await answers.give(interaction, desk.plan)

    async def status(interaction: Asked) -> None:
        await answers.give(interaction, desk.status)

    async def link(interaction: Asked, code: str, role: discord.Role) -> None:
        role_id = str(role.id)
        await answers.give(interaction, lambda call: desk.link(call, code, role_id))

    async def days(interaction: Asked, typed: str) -> Offered:
        return await answers.offer(interaction, typed, desk.days)

    return {
        spec.line: _command(spec, callback, say, **completions)
        for spec, callback, completions in (
            (table.DESK_PREVIEW, preview, {"day": days}),
            (table.DESK_REDRAW, redraw, {"day": days}),
            (table.DESK_POST, post, {}),
            (table.DESK_PLAN, plan, {}),
            (table.DESK_STATUS, status, {}),
            (table.DESK_LINK, link, {}),
        )
    }


def _group(group: table.Group, say: Wording) -> app_commands.Group:
    """A group; the director's is shown to nobody else until the server's settings say so."""
    hidden = discord.Permissions(manage_guild=True) if group.director else None
    return app_commands.Group(
        name=group.name, description=say(group.describe), default_permissions=hidden
    )


def _command(
    spec: table.Command, callback: Callback, say: Wording, **completions: Completion
) -> app_commands.Command[Any, ..., Any]:
    """A command of the table. The library refuses a callback whose options are other ones."""
    described = {option.name: say(option.describe) for option in spec.options}
    if described:
        callback = app_commands.describe(**described)(callback)
    if completions:
        callback = app_commands.autocomplete(**completions)(callback)
    return app_commands.Command(name=spec.name, description=say(spec.describe), callback=callback)
