"""`riserbell plan`: what a choir's week reads, as it is kept or proposed."""

from __future__ import annotations

import argparse

from bot.cli.options import OneLineParser, data_option, day, settings_of


def add(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    """Add the command."""
    plan = commands.add_parser("plan", help="what a choir's week reads, with minutes and reasons")
    plan.add_argument("--choir", required=True, metavar="NAME")
    plan.add_argument("--week", type=day, metavar="DATE", help="any date in it; default: today")
    plan.add_argument("--demo", action="store_true", help="of the demonstration's choirs")
    data_option(plan)
    plan.set_defaults(run=_plan)


def _plan(options: argparse.Namespace) -> int:
    import asyncio

    from bot.app import plan

    for line in asyncio.run(plan(settings_of(options), options.choir, options.week)):
        print(line)
    return 0
