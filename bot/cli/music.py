"""`riserbell compose`, `steps`: music without a choir."""

from __future__ import annotations

import argparse
import sys
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from bot.cli.options import VOICES, OneLineParser, content_of, data_option, ids
from bot.cli.page import add_page_options, page_of

if TYPE_CHECKING:
    from bot.music.word_tables import WordTables
    from bot.service.content import Content
    from bot.service.loose_reading import LooseLine, Wish


def add(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    """Add the commands that make music."""
    compose = commands.add_parser("compose", help="write one exercise: picture, music, sounds")
    what = compose.add_mutually_exclusive_group(required=True)
    what.add_argument("--step", metavar="ID[,ID...]", type=ids)
    what.add_argument(
        "--criteria", metavar="NAME[/READING]", help="inside a published reading (`criteria`)"
    )
    compose.add_argument(
        "--sequence", default="steps-first", metavar="ID", help="the order of steps (see `steps`)"
    )
    compose.add_argument(
        "--voice", choices=VOICES, help="that of the top part; default: the highest that can"
    )
    compose.add_argument("--key", help="such as F, Bb or Eb; default: what suits the voice")
    compose.add_argument("--metre", help="such as 3/4; default: what the step offers")
    compose.add_argument("--measures", type=int)
    compose.add_argument("--seed", type=int, default=0)
    compose.add_argument(
        "--words",
        metavar="TEXT",
        help="set to words: / ends a line, lan-terns divides, ^ stresses what follows, _ does not",
    )
    compose.add_argument(
        "--first", metavar="SYLLABLE", help="with --words: begin on it, such as so"
    )
    turns = compose.add_mutually_exclusive_group()
    for turn, told in (
        ("retrograde", "from its last note to its first"),
        ("rhythm-only", "on one line, no pitch"),
    ):
        turns.add_argument(f"--{turn}", dest="turn", action="store_const", const=turn, help=told)
    compose.add_argument(
        "--both-ways", action="store_true", help="a line that reads as well from its last note"
    )
    add_page_options(compose)
    compose.add_argument("--out", required=True, type=Path, metavar="DIR")
    data_option(compose)
    compose.set_defaults(run=_compose)

    steps = commands.add_parser("steps", help="the order of steps")
    steps.add_argument("--json", action="store_true", help="with what composes for voice and key")
    steps.add_argument(
        "--parts",
        action="store_true",
        help="with --json: parts at every pitch step, and what each part reads; takes minutes",
    )
    data_option(steps)
    steps.set_defaults(run=_steps)


def _compose(options: argparse.Namespace) -> int:
    from bot.music.turns import Turn
    from bot.music.voice import Voice
    from bot.music.word_tables import WordTables
    from bot.service.criteria import reads_rhythm
    from bot.service.loose_reading import Wish, part_clefs, write_reading
    from bot.service.loose_voices import for_some_voice

    content = content_of(options)
    wish = Wish(
        steps=options.step or (),
        criteria=options.criteria,
        voice=Voice(options.voice or VOICES[0]),
        key=options.key,
        metre=options.metre,
        measures=options.measures,
        seed=options.seed,
        turn=Turn(options.turn) if options.turn else None,
        both_ways=options.both_ways,
        sequence=options.sequence,
    )
    remarks: tuple[str, ...] = ()
    make = partial(_made, options=options, content=content, tables=WordTables())
    if options.voice:
        voice, made = wish.voice, make(wish)
    else:
        found = for_some_voice(wish, make, content.wording)
        voice, remarks, made = found.voice, found.remarks, found.made
    for remark in (*remarks, *made.remarks):
        print(remark, file=sys.stderr)
    page, formats = page_of(options), options.format
    bare = options.criteria is not None and reads_rhythm(options.criteria, content)
    page = page.bare_rhythm() if bare or wish.turn is Turn.RHYTHM_ONLY else page
    clefs = part_clefs(made.exercise, voice)
    for path in write_reading(made.exercise, clefs, content, options.out, page, formats):
        print(path)
    return 0


def _made(
    wish: Wish, options: argparse.Namespace, content: Content, tables: WordTables
) -> LooseLine:
    """The exercise of a wish, with words or without; `tables` for all voices that are tried."""
    from bot.errors import Fault, InputProblems
    from bot.service.loose_reading import compose_loose
    from bot.service.loose_words import compose_words

    if options.words is not None and options.criteria is not None:
        raise InputProblems([Fault(place="--words", problem="goes with --step, not --criteria")])
    if options.words is not None:
        return compose_words(wish, options.words, options.first, content, tables)
    if options.first is not None:
        raise InputProblems([Fault(place="--first", problem="goes with --words")])
    return compose_loose(wish, content)


def _steps(options: argparse.Namespace) -> int:
    from bot.errors import Fault, InputProblems
    from bot.service.step_list import steps_as_json, steps_as_text

    content = content_of(options)
    if options.parts and not options.json:
        raise InputProblems([Fault(place="--parts", problem="goes with --json")])
    every = options.parts
    print(steps_as_json(content, every_pitch=every) if options.json else steps_as_text(content))
    return 0
