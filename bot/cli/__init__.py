"""The command line: the one place that prints. A command's heavy modules load when it runs."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Sequence

from bot import __version__
from bot.cli import judging, keeping, music, partners, planning, play, serving, stories
from bot.cli.options import WRONG_INPUT, OneLineParser, content_of
from bot.errors import InputProblems, Refused, RiserbellError

READER_GONE = 141  # as a shell says it of a program that a closed pipe ended: 128 + 13


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns 0, or 2 where the input was wrong, with one line per fault."""
    options = _parser().parse_args(arguments)
    run: Callable[[argparse.Namespace], int] = options.run
    try:
        code = run(options)
        sys.stdout.flush()
        return code
    except InputProblems as problems:
        lines = [str(fault) for fault in problems.faults]
    except Refused as refusal:
        lines = [content_of(options).wording(refusal.key, **refusal.values)]
    except RiserbellError as error:
        lines = [str(error)]
    except BrokenPipeError:
        return _reader_gone()
    except OSError as error:
        lines = [f"{error.filename}: {error.strerror}" if error.filename else str(error)]
    except KeyboardInterrupt:
        return 130
    for line in lines:
        print(f"riserbell: {line}", file=sys.stderr)
    return WRONG_INPUT


def _reader_gone() -> int:
    """What was printed is read by nobody any more, as behind `| head`: end without a word."""
    # So that nothing is left to flush when Python ends (its documentation, "Note on SIGPIPE").
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return READER_GONE


def _parser() -> argparse.ArgumentParser:
    parser = OneLineParser(
        prog="riserbell",
        description="A choir class's companion: a fresh line to read each day, its key, its pitch.",
    )
    parser.add_argument("--version", action="version", version=f"riserbell {__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    for module in (serving, music, partners, play, stories, judging, keeping, planning):
        module.add(commands)
    return parser
