"""`riserbell check`, `criteria`, `hearing`: what music asks of its readers, and hearing them."""

from __future__ import annotations

import argparse
import sys
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
        "--letters", choices=("modern", "curwen"), default="modern", help="how sol-fa is written"
    )
    check.add_argument(
        "--criteria",
        metavar="NAME[/READING]",
        help="where it differs from a published reading (`criteria`)",
    )
    check.add_argument(
        "--sequence", default="steps-first", metavar="ID", help="the order of steps (see `steps`)"
    )
    check.add_argument("--key", help="of MIDI that names none, or a wrong one; such as F or Dm")
    check.add_argument("--all", action="store_true", help="name everything that is in it")
    data_option(check)
    check.set_defaults(run=_check)

    criteria = commands.add_parser("criteria", help="the published readings, one a line")
    criteria.add_argument("name", nargs="?", help="say all about one of them")
    data_option(criteria)
    criteria.set_defaults(run=_criteria)

    hearing = commands.add_parser("hearing", help="equal lines on paper, to hear singers alone")
    hearing.add_argument("--step", required=True, metavar="ID[,ID...]", type=ids)
    hearing.add_argument("--voice", required=True, choices=VOICES)
    hearing.add_argument("--count", required=True, type=int, help="how many singers")
    hearing.add_argument("--key", help="such as F, Bb or Eb; default: what suits the voice")
    hearing.add_argument("--metre", help="such as 3/4; default: what the step offers")
    hearing.add_argument("--seed", type=int, default=0)
    hearing.add_argument("--out", required=True, type=Path, metavar="FILE.pdf")
    data_option(hearing)
    hearing.set_defaults(run=_hearing)


def _check(options: argparse.Namespace) -> int:
    from bot.music.letters import Dialect
    from bot.music.voice import Voice
    from bot.service.checking import Asked, as_lines, check_file

    content = content_of(options)
    asked = Asked(
        steps=options.step or (),
        voice=Voice(options.voice) if options.voice else None,
        criteria=options.criteria,
        sequence=options.sequence,
    )
    data, dialect = options.file.read_bytes(), Dialect(options.letters)
    found = check_file(data, options.file.name, content, asked, dialect, options.key)
    print("\n".join(as_lines(found, content.wording, atoms=options.all)))
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


def _hearing(options: argparse.Namespace) -> int:
    from bot.media.render import make
    from bot.music.voice import Voice
    from bot.service.hearing import (
        HearingWish,
        hearing_lines,
        hearing_remarks,
        line_requests,
        printed_hearing,
    )

    content = content_of(options)
    wish = HearingWish(
        steps=options.step,
        voice=Voice(options.voice),
        count=options.count,
        key=options.key,
        metre=options.metre,
        seed=options.seed,
    )
    found = hearing_lines(wish, content)
    for remark in hearing_remarks(found, wish, content):
        print(remark, file=sys.stderr)
    drawn = [make(request).decode() for request in line_requests(found, wish)]
    options.out.write_bytes(printed_hearing(found, drawn, content.wording))
    print(options.out)
    return 0
