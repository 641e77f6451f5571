"""`riserbell room`: what goes on until it is ended."""

from __future__ import annotations

import argparse

from bot.cli.options import DEFAULT_PORT, OneLineParser, data_option, moment, port, settings_of


def add(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    """Add the commands that serve."""
    room = commands.add_parser("room", help="serve the room in the browser")
    room.add_argument("--port", type=port, default=DEFAULT_PORT, help="default: %(default)s")
    room.add_argument("--host", default="127.0.0.1", help="address to listen on")
    room.add_argument("--url", help="the address that people type")
    room.add_argument("--demo", action="store_true", help="invented choirs in a folder of its own")
    room.add_argument("--no-browser", action="store_true", help="only print the address")
    room.add_argument("--now", type=moment, help="start the clock here (demo data only)")
    data_option(room)
    room.set_defaults(run=_room)


def _room(options: argparse.Namespace) -> int:
    import asyncio

    from bot.app import serve

    return asyncio.run(
        serve(settings_of(options), announce=_say_now, open_browser=not options.no_browser)
    )


def _say_now(line: str) -> None:
    print(line, flush=True)
