"""Addresses of music at the desk: looked at, taken along, heard on paper, ranges tested."""

from __future__ import annotations

from bot.chat.room import check_desk, hearing_desk, ranges_desk, take_along
from bot.chat.room.safety import Handler

_CHOIR = "/desk/choir/{choir:[A-Za-z0-9_-]{1,64}}"
_DAY = "day/{on:[0-9]{4}-[0-9]{2}-[0-9]{2}}"
_KIND = "{kind:musicxml|mid|abc|letters\\.txt|brf|txt|svg|png|pdf}"

OPEN_PAGES: tuple[tuple[str, Handler], ...] = ()
OPEN_CHANGES: tuple[tuple[str, Handler], ...] = ()
DESK_PAGES: tuple[tuple[str, Handler], ...] = (
    (f"{_CHOIR}/check", check_desk.form),
    (f"{_CHOIR}/{_DAY}/along", take_along.page),
    (f"{_CHOIR}/{_DAY}/along.{_KIND}", take_along.file),
    (f"{_CHOIR}/hearing", hearing_desk.form),
    (f"{_CHOIR}/hearing.pdf", hearing_desk.sheet),
    (f"{_CHOIR}/ranges", ranges_desk.form),
)
DESK_CHANGES: tuple[tuple[str, Handler], ...] = (
    (f"{_CHOIR}/check", check_desk.look),
    (f"{_CHOIR}/check/use", check_desk.use),
    (f"{_CHOIR}/ranges", ranges_desk.test),
    (f"{_CHOIR}/{_DAY}/published", take_along.published),
)
