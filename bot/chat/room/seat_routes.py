"""Every address about seats, approvals and notices."""

from __future__ import annotations

from bot.chat.room import approval_desk, notices, seat, seats_desk
from bot.chat.room.safety import Handler

_CHOIR = "/desk/choir/{choir:[A-Za-z0-9_-]{1,64}}"
_SEAT = f"{_CHOIR}/seats/{{number:[0-9]{{1,4}}}}"
_SHEET = "/desk/approvals/{sheet:[0-9a-z-]{1,64}}"

OPEN_PAGES: tuple[tuple[str, Handler], ...] = (
    ("/seat", seat.seat_page),
    ("/seat/data", seat.my_data),
    ("/notice", notices.notice),
    ("/notice/keeping", notices.keeping),
)

OPEN_CHANGES: tuple[tuple[str, Handler], ...] = (
    ("/seat", seat.sit_down),
    ("/seat/leave", seat.leave),
    ("/seat/tap", seat.tap),
    ("/seat/forget", seat.forget),
)

DESK_PAGES: tuple[tuple[str, Handler], ...] = (
    ("/desk/approvals", approval_desk.approvals_page),
    ("/desk/approvals/new", approval_desk.draft_form),
    (_SHEET, approval_desk.sheet_page),
    (f"{_SHEET}/file", approval_desk.sheet_file),
    (f"{_CHOIR}/seats", seats_desk.seats_page),
)

DESK_CHANGES: tuple[tuple[str, Handler], ...] = (
    ("/desk/approvals/new", approval_desk.make_draft),
    ("/desk/approvals/clock", approval_desk.trust_clock),
    (f"{_SHEET}/confirm", approval_desk.confirm),
    (f"{_SHEET}/remove", approval_desk.take_away),
    (f"{_CHOIR}/seats", seats_desk.make_seats),
    (f"{_CHOIR}/seats/back", seats_desk.bring_back),
    (f"{_CHOIR}/slips", seats_desk.new_slips),
    (f"{_CHOIR}/rest", seats_desk.give_rest),
    (f"{_CHOIR}/reopen", seats_desk.reopen),
    (f"{_CHOIR}/export", seats_desk.export),
    (f"{_SEAT}/slip", seats_desk.new_slip),
    (f"{_SEAT}/remove", seats_desk.remove_seat),
    (f"{_SEAT}/copy", seats_desk.copy_of_seat),
)
