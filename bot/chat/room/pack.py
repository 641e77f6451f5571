"""The files of `riserbell pack`: what the desk hands out, written into a folder."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial
from pathlib import Path

from bot.activities.choir import Choir
from bot.chat.room.assets import load_assets
from bot.chat.room.home_page import home_page, sub_page
from bot.chat.room.pages import load_pages
from bot.errors import Refused
from bot.notation.pdf import Page
from bot.service.printed import printed_sub, printed_week
from bot.service.printed_ways import printed_ways
from bot.service.services import Services
from bot.service.takehome import HomeFolder
from bot.service.tune_home import HomeTune


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What to pack for the choir of that name: one day, a substitute's folder, or a week.

    `day` is the date of a single reading; else `sub`; else the week of a date, None for this week.
    `clips` adds a film to sing along with for every line and part that has room for the curtain.
    `paper` is the size of the prints.
    """

    choir: str
    week: date | None = None
    day: date | None = None
    sub: bool = False
    clips: bool = False
    paper: Page = "letter"


async def write_pack(services: Services, wish: Wish, folder: Path) -> list[Path]:
    """Write page, print and large print into the folder; the files' paths.

    A week or a day comes with its lines read other ways, in print and large print.
    Refused("takehome.no_choir") names the choirs that there are. Files of the same names are
    written over.
    """
    choir = await choir_named(services, wish.choir)
    if wish.sub:
        files = await _sub(services, choir, wish.paper)
    else:
        at_home = services.papers.home
        home = (
            await at_home.week(choir.id, wish.week)
            if wish.day is None
            else await at_home.day(choir.id, wish.day)
        )
        files = await _home(services, home, wish.paper)
        if wish.clips:
            files |= await films_of(services, home)
    return await asyncio.to_thread(_write, files, folder)


def _write(files: Mapping[str, bytes], folder: Path) -> list[Path]:
    folder.mkdir(parents=True, exist_ok=True)
    for name, data in files.items():
        (folder / name).write_bytes(data)
    return [folder / name for name in files]


async def _home(services: Services, home: HomeFolder, size: Page) -> dict[str, bytes]:
    say, assets = services.content.wording, load_assets()
    name, ways = (f"{say(key)}-{home.begins}" for key in ("takehome.file", "way.file"))
    tune = await tune_of(services, home)
    pages = load_pages(say, assets, demo=False)
    page = await asyncio.to_thread(home_page, home, pages, assets, tune)
    return {
        f"{name}.html": page,
    } | {
        f"{file}{'-large' if large else ''}.pdf": await asyncio.to_thread(
            draw, large=large, page=size
        )
        for file, draw in (
            (name, partial(printed_week, home, say)),
            (ways, partial(printed_ways, home, say, tune)),
        )
        for large in (False, True)
    }


async def tune_of(services: Services, home: HomeFolder) -> HomeTune | None:
    """The mystery tune of the days of a folder, where there was one."""
    last = home.day or home.monday + timedelta(days=6)
    return await services.play.tunes_at_home.tune(home.choir.id, home.begins, last)


async def films_of(services: Services, home: HomeFolder) -> dict[str, bytes]:
    """A film by its file's name for every line and part that has room for the curtain."""
    name, films = services.content.wording("clip.file_name"), {}
    for sheet in home.sheets:
        card = sheet.card
        for part in range(len(card.parts)):
            try:
                film = await services.play.clips.clip(card.reading_id, part)
            except Refused as refused:
                if refused.key != "curtain.short":
                    raise
                continue
            films[f"{name}-{card.on}-{part + 1}.mp4"] = film
    return films


async def _sub(services: Services, choir: Choir, size: Page) -> dict[str, bytes]:
    say, assets = services.content.wording, load_assets()
    sheets = await services.papers.subs.folder(choir.id)
    name = say("sub.file")
    page = await asyncio.to_thread(sub_page, sheets, load_pages(say, assets, demo=False), assets)
    return {
        f"{name}.html": page,
        f"{name}.pdf": await asyncio.to_thread(printed_sub, sheets, say, page=size),
        f"{name}-large.pdf": await asyncio.to_thread(
            printed_sub, sheets, say, large=True, page=size
        ),
    }


async def choir_named(services: Services, name: str) -> Choir:
    """The choir of a name, however it is written; Refused("takehome.no_choir") names all."""
    choirs = await services.choirs.all()
    for choir in choirs:
        if choir.name.casefold() == name.strip().casefold():
            return choir
    known = ", ".join(choir.name for choir in choirs) or services.content.wording("takehome.none")
    raise Refused("takehome.no_choir", name=name, known=known)
