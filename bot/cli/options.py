"""What the commands share: a parser of one-line errors, kinds of arguments, settings, content."""

from __future__ import annotations

import argparse
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

if TYPE_CHECKING:
    from bot.service.content import Content
    from bot.settings import Settings

VOICES = ("treble", "changing", "baritone")
DEFAULT_PORT = 8765
WRONG_INPUT = 2


class OneLineParser(argparse.ArgumentParser):
    """A parser whose errors are one line and exit code 2."""

    def error(self, message: str) -> NoReturn:
        """End with the message and where help is."""
        self.exit(WRONG_INPUT, f"riserbell: {message} (see `{self.prog} --help`)\n")


def data_option(parser: argparse.ArgumentParser) -> None:
    """Let a command be given another data folder."""
    parser.add_argument("--data", type=Path, metavar="DIR", help="default: a folder of your own")


def port(text: str) -> int:
    """A port as an argument."""
    if not text.isdigit() or not 0 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"{text!r} is no port: a number from 0 to 65535")
    return int(text)


def moment(text: str) -> datetime:
    """A date or a date and time as an argument."""
    try:
        return datetime.fromisoformat(text).astimezone()
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no moment: write for example 2026-09-14T08:00"
        ) from None


def day(text: str) -> date:
    """A date such as 2026-09-14."""
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no date: write for example 2026-09-14"
        ) from error


def ids(text: str) -> tuple[str, ...]:
    """Step ids with commas between them as an argument."""
    found = tuple(part.strip() for part in text.split(","))
    if not all(found):
        raise argparse.ArgumentTypeError(
            f"{text!r} leaves out a step: write ids with a comma between them, such as p04,r05"
        )
    return found


def settings_of(options: argparse.Namespace) -> Settings:
    """The settings that the arguments of a command make."""
    from bot.settings import Settings, default_data

    demo = getattr(options, "demo", False)
    return Settings(
        data=options.data or default_data(demo=demo),
        demo=demo,
        host=getattr(options, "host", "127.0.0.1"),
        port=getattr(options, "port", DEFAULT_PORT),
        public_url=getattr(options, "url", None),
        now=getattr(options, "now", None),
    )


def content_of(options: argparse.Namespace) -> Content:
    """What ships with the program, under what lies in the data folder."""
    from bot.service.content import load_content

    return load_content(settings_of(options).content_folders)
