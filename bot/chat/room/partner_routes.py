"""Addresses of partner lines: all of them are the desk's."""

from __future__ import annotations

from bot.chat.room import partners_desk
from bot.chat.room.safety import Handler

_PARTNERS = "/desk/choir/{choir:[A-Za-z0-9_-]{1,64}}/partners"
_CHOSEN = "{chosen:[1-4](?:-[1-4])?(?:-[1-4])?}"
_KIND = "{kind:picture\\.svg|phone\\.svg|sound\\.mp3}"

OPEN_PAGES: tuple[tuple[str, Handler], ...] = ()
OPEN_CHANGES: tuple[tuple[str, Handler], ...] = ()
DESK_PAGES: tuple[tuple[str, Handler], ...] = (
    (_PARTNERS, partners_desk.page),
    (f"{_PARTNERS}/{_CHOSEN}/{_KIND}", partners_desk.media),
)
DESK_CHANGES: tuple[tuple[str, Handler], ...] = (
    (_PARTNERS, partners_desk.compose),
    (f"{_PARTNERS}/use", partners_desk.use),
)
