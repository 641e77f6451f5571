"""Sheets as what discord.py sends: an embed, files made anew for each try, buttons that last."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable
from typing import Any

import discord

from bot.chat.discord.sheet import NO_MARK, Press, Sheet

FOLDER_GREEN = 0x20443A
# Kind and version first, then everything that is needed after a restart. Nothing here is secret.
PRESS_TEMPLATE = re.compile(
    r"rb1\.(?P<kind>[a-z]{1,12})\.(?P<mark>[0-9a-f]{12}|-)(?P<words>(?:\.[\w-]{1,40}){0,4})"
)
_ID_LIMIT = 100  # characters (documented)


def custom_id(press: Press) -> str:
    """A button's id."""
    text = ".".join(("rb1", press.kind, press.mark, *press.words))
    assert len(text) <= _ID_LIMIT and PRESS_TEMPLATE.fullmatch(text), text
    return text


def press_in(match: re.Match[str]) -> Press:
    """What a button's id says."""
    words = tuple(match["words"].split(".")[1:])
    return Press(kind=match["kind"], mark=match["mark"], words=words)


def embed_of(sheet: Sheet) -> discord.Embed:
    """Title, line and picture, with an edge in folder green."""
    embed = discord.Embed(title=sheet.title, description=sheet.line, colour=FOLDER_GREEN)
    if sheet.picture is not None:
        embed.set_image(url=f"attachment://{sheet.picture.name}")
    return embed


def files_of(sheet: Sheet) -> list[discord.File]:
    """The picture and the other files. Sending reads a file up: make them anew for each try."""
    pieces = [sheet.picture, *sheet.files] if sheet.picture is not None else [*sheet.files]
    return [
        discord.File(io.BytesIO(piece.data), filename=piece.name, description=piece.words)
        for piece in pieces
    ]


def buttons_of(sheet: Sheet) -> discord.ui.View:
    """The rows of buttons, of which there may be none.

    The view is stopped at once: the library then does not keep it, and every press, also one after
    a restart, goes the same way, to the item that matches its id.
    """
    view = discord.ui.View(timeout=None)
    for number, row in enumerate(sheet.rows):
        for button in row:
            view.add_item(
                discord.ui.Button(
                    style=discord.ButtonStyle.secondary,
                    label=button.label,
                    custom_id=custom_id(button.press),
                    row=number,
                )
            )
    view.stop()
    return view


def marks_in(rows: Iterable[Any]) -> set[str]:
    """The marks of deliveries in a message's buttons."""
    ids = (
        getattr(item, "custom_id", None) for row in rows for item in getattr(row, "children", ())
    )
    matches = (PRESS_TEMPLATE.fullmatch(one) for one in ids if one)
    return {match["mark"] for match in matches if match is not None} - {NO_MARK}
