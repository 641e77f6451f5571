"""`riserbell room`, `serve` and `discord`: what goes on until it is ended, and the invitation."""

from __future__ import annotations

import argparse

from bot.cli.options import (
    DEFAULT_PORT,
    OneLineParser,
    content_of,
    data_option,
    moment,
    port,
    settings_of,
)


def add(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    """Add the commands that serve."""
    room = commands.add_parser("room", help="serve the room in the browser")
    _address(room)
    room.add_argument("--demo", action="store_true", help="invented choirs in a folder of its own")
    room.add_argument("--no-browser", action="store_true", help="only print the address")
    room.add_argument("--now", type=moment, help="start the clock here (demo data only)")
    data_option(room)
    room.set_defaults(run=_room)

    serve = commands.add_parser(
        "serve", help="serve every surface that is set up: the room, and Discord with a token"
    )
    _address(serve)
    data_option(serve)
    serve.set_defaults(run=_serve)

    discord = commands.add_parser("discord", help="the bot in the school's Discord server")
    actions = discord.add_subparsers(required=True, metavar="ACTION")
    invite = actions.add_parser("invite", help="print the link that adds the bot, and its number")
    invite.add_argument(
        "--without-history", action="store_true", help="do not ask to read the channel's history"
    )
    policy = actions.add_parser("policy", help="print the privacy policy that the bot's users get")
    for action, run in ((invite, _invite), (policy, _policy)):
        data_option(action)
        action.set_defaults(run=run)


def _address(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--port", type=port, default=DEFAULT_PORT, help="default: %(default)s")
    parser.add_argument("--host", default="127.0.0.1", help="address to listen on")
    parser.add_argument("--url", help="the address that people type")


def _room(options: argparse.Namespace) -> int:
    import asyncio

    from bot.app import serve

    return asyncio.run(
        serve(settings_of(options), announce=_say_now, open_browser=not options.no_browser)
    )


def _serve(options: argparse.Namespace) -> int:
    import asyncio

    from bot.app import serve
    from bot.settings import TOKEN_FILE, TOKEN_VARIABLE

    token, settings = _token(options), settings_of(options)
    if token is None:
        file = settings.data / TOKEN_FILE
        say = content_of(options).wording
        _say_now(say("program.discord_off", variable=TOKEN_VARIABLE, file=str(file)))
    return asyncio.run(serve(settings, announce=_say_now, token=token))


def _invite(options: argparse.Namespace) -> int:
    from bot.chat.discord.invite import application_of, invite_link, permission_number
    from bot.errors import Refused
    from bot.settings import TOKEN_FILE, TOKEN_VARIABLE

    token = _token(options)
    if token is None:
        file = settings_of(options).data / TOKEN_FILE
        raise Refused("program.discord_off", variable=TOKEN_VARIABLE, file=str(file))
    application, history = application_of(token), not options.without_history
    if application is None:
        raise Refused("program.discord_no_token")
    say = content_of(options).wording
    print(say("discord.age_limit"))
    print(say("discord.privacy_owed"))
    print(say("program.discord_number", number=permission_number(history=history)))
    print(invite_link(application, history=history))
    return 0


def _policy(options: argparse.Namespace) -> int:
    from bot.service.policy import as_markdown, policy

    print(as_markdown(policy(content_of(options).wording)))
    return 0


def _token(options: argparse.Namespace) -> str | None:
    import os

    from bot.settings import discord_token

    return discord_token(os.environ, settings_of(options).data)


def _say_now(line: str) -> None:
    print(line, flush=True)
