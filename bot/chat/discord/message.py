"""Sheets as what discord.py sends: an embed, files made anew for each try, buttons that last."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable
from typing import Any

import discord

from bot.chat.discord.sheet import PartChoice, Sheet
from bot.service.card import Arrangement

FOLDER_GREEN = 0x20443A
_HOW = {Arrangement.TOGETHER: "t", Arrangement.APART: "a"}
_ARRANGEMENT = {letter: arrangement for arrangement, letter in _HOW.items()}
# Kind and version first, then everything that is needed after a restart. Nothing here is secret.
PART_TEMPLATE = re.compile(
    r"rb1\.part\.(?P<mark>[0-9a-f]{12})\.(?P<reading>[\w-]{1,40})\.(?P<part>[0-9])\.(?P<how>[ta])"
)


def custom_id(choice: PartChoice) -> str:
    """A button's id, at most 100 characters."""
    how = _HOW[choice.arrangement]
    return f"rb1.part.{choice.mark}.{choice.reading_id}.{choice.part}.{how}"


def choice_in(match: re.Match[str]) -> PartChoice:
    """What a button's id says; the label is not in it."""
    return PartChoice(
        mark=match["mark"],
        reading_id=match["reading"],
        part=int(match["part"]),
        arrangement=_ARRANGEMENT[match["how"]],
        label="",
    )


def embed_of(sheet: Sheet) -> discord.Embed:
    """Title, line and picture, with an edge in folder green."""
    embed = discord.Embed(title=sheet.title, description=sheet.line, colour=FOLDER_GREEN)
    if sheet.picture is not None:
        embed.set_image(url=f"attachment://{sheet.picture.name}")
    return embed


def files_of(sheet: Sheet) -> list[discord.File]:
    """The picture and the sounds. A file is read up by sending: make them anew for each try."""
    pieces = [sheet.picture, *sheet.sounds] if sheet.picture is not None else [*sheet.sounds]
    return [
        discord.File(io.BytesIO(piece.data), filename=piece.name, description=piece.words)
        for piece in pieces
    ]


def buttons_of(sheet: Sheet) -> discord.ui.View:
    """The row of buttons, which may be empty.

    The view is stopped at once: the library then does not keep it, and every press, also one after
    a restart, goes the same way, to the item that matches its id.
    """
    view = discord.ui.View(timeout=None)
    for choice in sheet.choices:
        view.add_item(
            discord.ui.Button(
                style=discord.ButtonStyle.secondary,
                label=choice.label,
                custom_id=custom_id(choice),
            )
        )
    view.stop()
    return view


def marks_in(rows: Iterable[Any]) -> set[str]:
    """The marks of deliveries in a message's buttons."""
    ids = (
        getattr(item, "custom_id", None) for row in rows for item in getattr(row, "children", ())
    )
    matches = (PART_TEMPLATE.fullmatch(one) for one in ids if one)
    return {match["mark"] for match in matches if match is not None}
