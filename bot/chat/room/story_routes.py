"""Every address about stories that are told."""

from __future__ import annotations

from bot.chat.room import story_author, story_desk, story_seat, story_stage
from bot.chat.room.safety import Handler

_STORY = "{story:[a-z][a-z0-9-]{0,47}}"
_CHOIR = "{choir:[A-Za-z0-9_-]{1,64}}"

OPEN_PAGES: tuple[tuple[str, Handler], ...] = ()

OPEN_CHANGES: tuple[tuple[str, Handler], ...] = (
    (
        f"/stage/{_CHOIR}/story/{{call:count|choose|advance|pause|resume|undo|end}}",
        story_stage.call,
    ),
    ("/seat/vote", story_seat.vote),
)

DESK_PAGES: tuple[tuple[str, Handler], ...] = (
    ("/desk/stories", story_author.shelf),
    (f"/desk/stories/{_STORY}", story_author.write),
    (f"/stage/{_CHOIR}/story", story_stage.story),
    (f"/desk/choir/{_CHOIR}/story", story_desk.page),
)

DESK_CHANGES: tuple[tuple[str, Handler], ...] = (
    ("/desk/stories", story_author.new),
    (f"/desk/stories/{_STORY}", story_author.keep),
    (f"/desk/stories/{_STORY}/scene", story_author.scene),
    (f"/desk/choir/{_CHOIR}/story/begin", story_desk.begin),
    (
        f"/desk/choir/{_CHOIR}/story/{{call:close|choose|pause|resume|undo|end}}",
        story_desk.call,
    ),
)
