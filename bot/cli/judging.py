"""`riserbell check`, `criteria`: what music asks of its readers, and what others ask of music."""

from __future__ import annotations

import argparse
from pathlib import Path

from bot.cli.options import VOICES, OneLineParser, content_of, data_option, ids

_DOES_NOT_FIT = 1


def add(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    """Add the commands that judge music."""
    check = commands.add_parser(
        "check", help="what music needs, and which step holds it: MusicXML, ABC, MIDI, letters"
    )
    check.add_argument("file", type=Path)
    check.add_argument("--step", metavar="ID[,ID...]", type=ids)
    check.add_argument("--voice", choices=VOICES)
    check.add_argument(
        "--criteria",
        metavar="NAME[/READING]",
        help="where it differs from a published reading (`criteria`)",
    )
    data_option(check)
    check.set_defaults(run=_check)

    criteria = commands.add_parser("criteria", help="the published readings, one a line")
    criteria.add_argument("name", nargs="?", help="say all about one of them")
    data_option(criteria)
    criteria.set_defaults(run=_criteria)


def _check(options: argparse.Namespace) -> int:
    from bot.music.voice import Voice
    from bot.service.checking import Asked, as_lines, check_file

    content = content_of(options)
    asked = Asked(
        steps=options.step or (),
        voice=Voice(options.voice) if options.voice else None,
        criteria=options.criteria,
    )
    found = check_file(options.file.read_bytes(), options.file.name, content, asked)
    print("\n".join(as_lines(found, content.wording)))
    return 0 if found.fits else _DOES_NOT_FIT


def _criteria(options: argparse.Namespace) -> int:
    from bot.service.criteria import find_criteria, listed, notes_on

    content = content_of(options)
    if options.name is None:
        print("\n".join(listed(content.criteria.values(), content.wording)))
        return 0
    criteria, _ = find_criteria(options.name, content)
    print("\n".join([*listed([criteria], content.wording), *notes_on(criteria, content.wording)]))
    return 0
