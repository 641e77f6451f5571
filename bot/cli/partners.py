"""`riserbell partners`: lines over one ground that sound together, without a choir."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from bot.cli.options import VOICES, OneLineParser, content_of, data_option, ids
from bot.cli.page import add_page_options, page_of

_LINES = (2, 3, 4)


def add(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    """Add the command that makes partner lines."""
    partners = commands.add_parser(
        "partners", help="lines to be read one by one that sound together, two or three at a time"
    )
    partners.add_argument("--step", required=True, metavar="ID[,ID...]", type=ids)
    partners.add_argument(
        "--lines", type=int, choices=_LINES, default=2, help="how many; default: %(default)s"
    )
    partners.add_argument(
        "--voices",
        type=_voices,
        default=VOICES[:1],
        metavar="VOICE[,VOICE...]",
        help=f"who sings, of {', '.join(VOICES)}; default: {VOICES[0]}",
    )
    partners.add_argument(
        "--sequence", default="steps-first", metavar="ID", help="the order of steps (see `steps`)"
    )
    partners.add_argument("--key", help="such as F, Bb or Eb; default: what suits the voices")
    partners.add_argument("--metre", help="such as 3/4; default: what the step offers")
    partners.add_argument("--measures", type=int, help="4 or 8")
    partners.add_argument("--seed", type=int, default=0)
    add_page_options(partners)
    partners.add_argument("--out", required=True, type=Path, metavar="DIR")
    data_option(partners)
    partners.set_defaults(run=_partners)


def _voices(text: str) -> tuple[str, ...]:
    """Voices with commas between them, the highest first, each once."""
    named = {part.strip() for part in text.split(",")}
    if unknown := sorted(named - set(VOICES)):
        raise argparse.ArgumentTypeError(f"{unknown[0]!r} is no voice: {', '.join(VOICES)}")
    return tuple(voice for voice in VOICES if voice in named)


def _partners(options: argparse.Namespace) -> int:
    from bot.music.voice import Voice
    from bot.service.loose_partners import compose_partners, told_of, write_partners
    from bot.service.loose_reading import Wish

    content = content_of(options)
    voices = tuple(Voice(name) for name in options.voices)
    wish = Wish(
        steps=options.step,
        voice=voices[0],
        key=options.key,
        metre=options.metre,
        measures=options.measures,
        seed=options.seed,
        sequence=options.sequence,
    )
    found, remarks = compose_partners(wish, voices, options.lines, content)
    for remark in remarks:
        print(remark, file=sys.stderr)
    for line in told_of(found, content.wording):
        print(line)
    page, formats = page_of(options), options.format
    for path in write_partners(found, voices, content, options.out, page, formats):
        print(path)
    return 0
