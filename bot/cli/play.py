"""`riserbell clip`, `tunes`: the playful readings, without a choir."""

from __future__ import annotations

import argparse
from pathlib import Path

from bot.cli.options import VOICES, OneLineParser, content_of, data_option, ids, settings_of


def add(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    """Add the commands of the playful readings."""
    clip = commands.add_parser("clip", help="a film to sing along with, whose page goes away")
    clip.add_argument("--step", required=True, metavar="ID[,ID...]", type=ids)
    clip.add_argument("--voice", required=True, choices=VOICES)
    clip.add_argument("--seed", type=int, default=0)
    clip.add_argument(
        "--curtain", type=int, metavar="BEAT", help="the page goes as this beat begins"
    )
    clip.add_argument("--tempo", type=int, metavar="BPM", help="default: what the line asks for")
    clip.add_argument("--out", required=True, type=Path, metavar="FILE.mp4")
    data_option(clip)
    clip.set_defaults(run=_clip)

    tunes = commands.add_parser("tunes", help="the mystery tunes: step, title, origin, on or off")
    data_option(tunes)
    tunes.set_defaults(run=_tunes)


def _clip(options: argparse.Namespace) -> int:
    from bot.media.render import make
    from bot.music.voice import Voice
    from bot.service.clips import loose_clip
    from bot.service.loose_reading import Wish, compose_loose, part_clefs
    from bot.service.placing import line_alone

    content = content_of(options)
    wish = Wish(steps=options.step, voice=Voice(options.voice), seed=options.seed)
    exercise = compose_loose(wish, content).exercise
    request = loose_clip(
        line_alone(exercise, 0),
        part_clefs(exercise, wish.voice)[0],
        content.wording,
        seed=options.seed,
        beat=options.curtain,
        tempo_bpm=options.tempo,
    )
    made = make(request)
    options.out.parent.mkdir(parents=True, exist_ok=True)
    options.out.write_bytes(made)
    print(options.out)
    return 0


def _tunes(options: argparse.Namespace) -> int:
    from bot.service.tune_book import placed_tunes, tune_line
    from bot.store.folder import DATABASE
    from bot.store.tunes import switches_in

    content = content_of(options)
    said = switches_in(settings_of(options).data / DATABASE)
    for placed in placed_tunes(content, content.sequences["steps-first"]):
        on = said.get(placed.tune.id, True)
        print(tune_line(placed, on=on, say=content.wording))
    return 0
