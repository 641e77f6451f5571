"""The command line: the one place that prints. A command's heavy modules load when it runs."""

from __future__ import annotations

import argparse
import getpass
import os
import sys
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from bot import __version__
from bot.errors import InputProblems, Refused, RiserbellError

if TYPE_CHECKING:
    from bot.service.content import Content
    from bot.settings import Settings

_VOICES = ("treble", "changing", "baritone")
_DEFAULT_PORT = 8765
_WRONG_INPUT = 2
_DOES_NOT_FIT = 1


class _OneLineParser(argparse.ArgumentParser):
    """A parser whose errors are one line and exit code 2."""

    def error(self, message: str) -> NoReturn:
        self.exit(_WRONG_INPUT, f"riserbell: {message} (see `{self.prog} --help`)\n")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns 0, or 2 where the input was wrong, with one line per fault."""
    options = _parser().parse_args(arguments)
    run: Callable[[argparse.Namespace], int] = options.run
    try:
        return run(options)
    except InputProblems as problems:
        lines = [str(fault) for fault in problems.faults]
    except Refused as refusal:
        lines = [_in_words(refusal, options)]
    except RiserbellError as error:
        lines = [str(error)]
    except OSError as error:
        lines = [f"{error.filename}: {error.strerror}" if error.filename else str(error)]
    except KeyboardInterrupt:
        return 130
    for line in lines:
        print(f"riserbell: {line}", file=sys.stderr)
    return _WRONG_INPUT


def _parser() -> argparse.ArgumentParser:
    parser = _OneLineParser(
        prog="riserbell",
        description="A choir class's companion: a fresh line to read each day, its key, its pitch.",
    )
    parser.add_argument("--version", action="version", version=f"riserbell {__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    room = commands.add_parser("room", help="serve the room in the browser")
    room.add_argument("--port", type=_port, default=_DEFAULT_PORT, help="default: %(default)s")
    room.add_argument("--host", default="127.0.0.1", help="address to listen on")
    room.add_argument("--url", help="the address that people type")
    room.add_argument("--demo", action="store_true", help="invented choirs in a folder of its own")
    room.add_argument("--no-browser", action="store_true", help="only print the address")
    room.add_argument("--now", type=_moment, help="start the clock here (demo data only)")
    _data_option(room)
    room.set_defaults(run=_room)

    _music_commands(commands)
    _data_commands(commands)
    return parser


def _music_commands(commands: argparse._SubParsersAction[_OneLineParser]) -> None:
    compose = commands.add_parser("compose", help="write one exercise: picture, music, sounds")
    compose.add_argument("--step", required=True, metavar="ID[,ID...]", type=_ids)
    compose.add_argument("--voice", required=True, choices=_VOICES)
    compose.add_argument("--key", help="such as F, Bb or Eb; default: what suits the voice")
    compose.add_argument("--metre", help="such as 3/4; default: what the step offers")
    compose.add_argument("--measures", type=int)
    compose.add_argument("--seed", type=int, default=0)
    turns = compose.add_mutually_exclusive_group()
    for turn, told in (("retrograde", "from its last note to its first"), ("rhythm-only", "on do")):
        turns.add_argument(f"--{turn}", dest="turn", action="store_const", const=turn, help=told)
    compose.add_argument("--out", required=True, type=Path, metavar="DIR")
    _data_option(compose)
    compose.set_defaults(run=_compose)

    steps = commands.add_parser("steps", help="the order of steps")
    steps.add_argument("--json", action="store_true", help="with what composes for voice and key")
    _data_option(steps)
    steps.set_defaults(run=_steps)

    check = commands.add_parser("check", help="what a MusicXML file needs and which step holds it")
    check.add_argument("file", type=Path)
    check.add_argument("--step", metavar="ID[,ID...]", type=_ids)
    check.add_argument("--voice", choices=_VOICES)
    _data_option(check)
    check.set_defaults(run=_check)


def _data_commands(commands: argparse._SubParsersAction[_OneLineParser]) -> None:
    pack = commands.add_parser("pack", help="a week to take home, or a substitute's folder")
    pack.add_argument("--choir", required=True, metavar="NAME")
    what = pack.add_mutually_exclusive_group()
    what.add_argument("--week", type=_moment, metavar="DATE", help="any date in it; default: today")
    what.add_argument("--sub", action="store_true", help="five sheets without a date")
    pack.add_argument("--demo", action="store_true", help="of the demonstration's choirs")
    pack.add_argument("--out", required=True, type=Path, metavar="DIR")
    _data_option(pack)
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
        _data_option(action)
        action.set_defaults(run=run)


def _data_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--data", type=Path, metavar="DIR", help="default: a folder of your own")


def _port(text: str) -> int:
    if not text.isdigit() or not 0 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"{text!r} is no port: a number from 0 to 65535")
    return int(text)


def _moment(text: str) -> datetime:
    try:
        return datetime.fromisoformat(text).astimezone()
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no moment: write for example 2026-09-14T08:00"
        ) from None


def _ids(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(",") if part.strip())


def _settings(options: argparse.Namespace) -> Settings:
    from bot.settings import Settings, default_data

    demo = getattr(options, "demo", False)
    return Settings(
        data=options.data or default_data(demo=demo),
        demo=demo,
        host=getattr(options, "host", "127.0.0.1"),
        port=getattr(options, "port", _DEFAULT_PORT),
        public_url=getattr(options, "url", None),
        now=getattr(options, "now", None),
    )


def _content(options: argparse.Namespace) -> Content:
    from bot.service.content import load_content

    return load_content(_settings(options).content_folders)


def _in_words(refusal: Refused, options: argparse.Namespace) -> str:
    return _content(options).wording(refusal.key, **refusal.values)


def _room(options: argparse.Namespace) -> int:
    import asyncio

    from bot.app import serve

    return asyncio.run(
        serve(_settings(options), announce=_say_now, open_browser=not options.no_browser)
    )


def _compose(options: argparse.Namespace) -> int:
    from bot.music.turns import Turn
    from bot.music.voice import Voice
    from bot.service.loose_reading import Wish, compose_loose, write_reading

    content = _content(options)
    wish = Wish(
        steps=options.step,
        voice=Voice(options.voice),
        key=options.key,
        metre=options.metre,
        measures=options.measures,
        seed=options.seed,
        turn=Turn(options.turn) if options.turn else None,
    )
    exercise = compose_loose(wish, content)
    for path in write_reading(exercise, wish.voice, content, options.out):
        print(path)
    return 0


def _steps(options: argparse.Namespace) -> int:
    from bot.service.step_list import steps_as_json, steps_as_text

    content = _content(options)
    print(steps_as_json(content) if options.json else steps_as_text(content))
    return 0


def _check(options: argparse.Namespace) -> int:
    from bot.music.voice import Voice
    from bot.service.checking import check_file

    content = _content(options)
    voice = Voice(options.voice) if options.voice else None
    report = check_file(
        options.file.read_bytes(), options.file.name, content, steps=options.step, voice=voice
    )
    print(report.text)
    return 0 if report.fits else _DOES_NOT_FIT


def _pack(options: argparse.Namespace) -> int:
    import asyncio

    from bot.app import pack
    from bot.chat.room.pack import Wish

    week = None if options.week is None else options.week.date()
    wish = Wish(choir=options.choir, week=week, sub=options.sub)
    for path in asyncio.run(pack(_settings(options), wish, options.out)):
        print(path)
    return 0


def _where(options: argparse.Namespace) -> int:
    print(_settings(options).data)
    return 0


def _backup(options: argparse.Namespace) -> int:
    from bot.store.backup import make_backup

    sealed = make_backup(_settings(options).data, _new_passphrase(options))
    descriptor = os.open(options.file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "wb") as file:
        file.write(sealed)
    print(options.file)
    return 0


def _restore(options: argparse.Namespace) -> int:
    from bot.store.backup import restore_backup

    sealed = options.file.read_bytes()
    folder = _settings(options).data
    restore_backup(sealed, _ask(_content(options).wording("program.passphrase")), folder)
    print(folder)
    return 0


def _passphrase(options: argparse.Namespace) -> int:
    import asyncio

    from bot.app import reset_passphrase

    asyncio.run(reset_passphrase(_settings(options), _new_passphrase(options)))
    return 0


def _new_passphrase(options: argparse.Namespace) -> str:
    say = _content(options).wording
    text = _ask(say("program.passphrase"))
    if sys.stdin.isatty() and _ask(say("program.again")) != text:
        raise Refused("program.differ")
    return text


def _ask(question: str) -> str:
    """A secret typed unseen, or one line of the input where nobody sits before it."""
    if sys.stdin.isatty():
        return getpass.getpass(f"{question}: ")
    return sys.stdin.readline().rstrip("\n")


def _say_now(line: str) -> None:
    print(line, flush=True)
