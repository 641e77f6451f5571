"""Options of how a page is written out: lines under the notes, size, more formats."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bot.music.page_options import PageOptions

UNDER = ("syllables", "numbers", "letters", "rhythm", "beats")
RHYTHM_NAMES = ("ta-tiri", "ta-tika", "ta-ka-di-mi", "du-de", "1-e-and-a", "1-ti-te-ta")
FORMATS = ("mid", "abc", "letters", "brf", "pdf")  # beside the six that are always written


def add_page_options(parser: argparse.ArgumentParser) -> None:
    """Let a command say how its page looks and in which formats it is written."""
    parser.add_argument(
        "--under",
        type=_several(UNDER),
        default=(),
        metavar="LINE[,LINE...]",
        help=f"lines under the notes: {', '.join(UNDER)}; default: none",
    )
    parser.add_argument(
        "--rhythm-names",
        choices=RHYTHM_NAMES,
        default="ta-tika",
        help="the rhythm syllables of --under rhythm; default: %(default)s",
    )
    parser.add_argument("--large", action="store_true", help="large print")
    parser.add_argument("--one-a-line", action="store_true", help="one measure a line")
    parser.add_argument(
        "--rhythm-staff", action="store_true", help="the rhythm alone, on a single line"
    )
    parser.add_argument("--no-measure-numbers", action="store_true")
    parser.add_argument(
        "--format",
        type=_several(FORMATS),
        default=(),
        metavar="KIND[,KIND...]",
        help=f"also write it as {', '.join(FORMATS)} (letters: tonic sol-fa, brf: music braille)",
    )


def page_of(options: argparse.Namespace) -> PageOptions:
    """The page that the options of a command describe."""
    from bot.music.page_options import PageOptions, Under
    from bot.music.rhythm_names import RhythmNames

    return PageOptions(
        under=tuple(under for under in Under if under in options.under),
        rhythm_names=RhythmNames(options.rhythm_names),
        large=options.large,
        one_a_line=options.one_a_line,
        rhythm_only=options.rhythm_staff,
        measure_numbers=not options.no_measure_numbers,
    )


def _several(known: tuple[str, ...]) -> Callable[[str], tuple[str, ...]]:
    """A reader of names with commas between them."""

    def read(text: str) -> tuple[str, ...]:
        found = tuple(part.strip() for part in text.split(",") if part.strip())
        for name in found:
            if name not in known:
                raise argparse.ArgumentTypeError(f"{name!r} is none of {', '.join(known)}")
        return found

    return read
