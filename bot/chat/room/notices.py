"""What singers and families are told, and how long things are kept: printed from the register."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from aiohttp import web

from bot.chat.room.board import today_of
from bot.chat.room.parts import Parts, parts_of
from bot.privacy.approval import Sheet
from bot.privacy.fields import REGISTER, Field, Kind, tables


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptTable:
    """The fields of one table that have their terms in common."""

    table: str
    fields: tuple[Field, ...]

    @property
    def first(self) -> Field:
        """One of them, for what they have in common."""
        return self.fields[0]

    @property
    def purposes(self) -> str:
        """Why, in one line; what only ties rows together is left to the full list."""
        return "; ".join(f.purpose for f in self.fields if not f.purpose.startswith("joins rows"))


def kept_tables(register: Mapping[str, Field], *, seats: bool) -> tuple[KeptTable, ...]:
    """The register by tables; those about seats, or all others."""
    found = []
    for table in tables():
        fields = tuple(field for field in register.values() if field.table == table)
        if (fields[0].kind is Kind.SEAT) is seats:
            found.append(KeptTable(table=table, fields=fields))
    return tuple(found)


async def notice(request: web.Request) -> web.StreamResponse:
    """`GET /notice`: the privacy notice for singers and families, of the sheet that holds."""
    room = parts_of(request)
    sheet = await _sheet(room, request.query.get("choir"))
    tables_kept = [] if sheet is None else [
        table for table in kept_tables(REGISTER, seats=True) if table.first.name in sheet.fields
    ]  # fmt: skip
    values = {
        "sheet": sheet,
        "tables": tables_kept,
        "ends": room.pages.say.date(sheet.term_ends_on, "MMMM d, y") if sheet else "",
    }
    return room.pages.page("notice.html", values)


async def keeping(request: web.Request) -> web.StreamResponse:
    """`GET /notice/keeping`: every field of the program, how long it is kept, how it goes."""
    values = {
        "seats": kept_tables(REGISTER, seats=True),
        "others": kept_tables(REGISTER, seats=False),
    }
    return parts_of(request).pages.page("keeping.html", values)


async def _sheet(room: Parts, choir_id: str | None) -> Sheet | None:
    """The sheet of a choir, else of the first choir that has one."""
    for choir in await room.services.choirs.all():
        if choir_id in (None, choir.id):
            sheet = await room.services.seating.approvals.current(choir.id, today_of(room, choir))
            if sheet is not None:
                return sheet
    return None
