"""`riserbell pack` and `riserbell data`: what is taken out of the data folder or put back."""

from __future__ import annotations

import argparse
import getpass
import os
import sys
from pathlib import Path

from bot.cli.options import OneLineParser, content_of, data_option, day, settings_of
from bot.errors import Refused


def add(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    """Add the commands about a data folder."""
    pack = commands.add_parser(
        "pack", help="a week or a day to take home, or a substitute's folder"
    )
    pack.add_argument("--choir", required=True, metavar="NAME")
    what = pack.add_mutually_exclusive_group()
    what.add_argument("--week", type=day, metavar="DATE", help="any date in it; default: today")
    what.add_argument("--day", type=day, metavar="DATE", help="one reading, that of this date")
    what.add_argument("--sub", action="store_true", help="five sheets without a date")
    pack.add_argument("--paper", choices=("letter", "a4"), default="letter", help="of the prints")
    pack.add_argument("--clips", action="store_true", help="with films to sing along with")
    pack.add_argument("--demo", action="store_true", help="of the demonstration's choirs")
    pack.add_argument("--out", required=True, type=Path, metavar="DIR")
    data_option(pack)
    pack.set_defaults(run=_pack)

    data = commands.add_parser("data", help="where the data lie; backup and restore")
    actions = data.add_subparsers(required=True, metavar="ACTION")
    where = actions.add_parser("where", help="print the data folder")
    backup = actions.add_parser("backup", help="write everything but seats to one encrypted file")
    backup.add_argument("file", type=Path)
    restore = actions.add_parser("restore", help="bring a backup into an empty data folder")
    restore.add_argument("file", type=Path)
    passphrase = actions.add_parser("passphrase", help="set the desk's passphrase anew")
    for action, run in (
        (where, _where),
        (backup, _backup),
        (restore, _restore),
        (passphrase, _passphrase),
    ):
        data_option(action)
        action.set_defaults(run=run)


def _pack(options: argparse.Namespace) -> int:
    import asyncio

    from bot.app import pack
    from bot.chat.room.pack import Wish

    wish = Wish(
        choir=options.choir,
        week=options.week,
        day=options.day,
        sub=options.sub,
        clips=options.clips,
        paper=options.paper,
    )
    for path in asyncio.run(pack(settings_of(options), wish, options.out)):
        print(path)
    return 0


def _where(options: argparse.Namespace) -> int:
    print(settings_of(options).data)
    return 0


def _backup(options: argparse.Namespace) -> int:
    from bot.store.backup import make_backup

    sealed = make_backup(settings_of(options).data, _new_passphrase(options))
    descriptor = os.open(options.file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "wb") as file:
        file.write(sealed)
    print(options.file)
    return 0


def _restore(options: argparse.Namespace) -> int:
    from bot.store.backup import restore_backup

    sealed = options.file.read_bytes()
    folder = settings_of(options).data
    restore_backup(sealed, _ask(content_of(options).wording("program.passphrase")), folder)
    print(folder)
    return 0


def _passphrase(options: argparse.Namespace) -> int:
    import asyncio

    from bot.app import reset_passphrase

    asyncio.run(reset_passphrase(settings_of(options), _new_passphrase(options)))
    return 0


def _new_passphrase(options: argparse.Namespace) -> str:
    say = content_of(options).wording
    text = _ask(say("program.passphrase"))
    if sys.stdin.isatty() and _ask(say("program.again")) != text:
        raise Refused("program.differ")
    return text


def _ask(question: str) -> str:
    """A secret typed unseen, or one line of the input where nobody sits before it."""
    if sys.stdin.isatty():
        return getpass.getpass(f"{question}: ")
    return sys.stdin.readline().rstrip("\n")
