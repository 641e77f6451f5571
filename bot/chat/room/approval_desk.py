"""The desk's pages of approvals: a draft, its print for signature, the hash typed in, the list."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import StrEnum

from aiohttp import web

from bot.chat.room.entry import desk_page
from bot.chat.room.pages import refusal
from bot.chat.room.parts import Parts, parts_of
from bot.chat.room.posted import read_posted
from bot.errors import InputProblems, Refused
from bot.privacy.approval import Approver, Basis, Never, Sheet, Transport, read_sheet, short_hash
from bot.privacy.fields import REGISTER
from bot.service.approval_form import SURFACES, Field, empty_form, offered_activities
from bot.service.approvals import WARN_DAYS, Standing
from bot.wording import Wording

_GROUP = 4  # hex digits, as they are easiest read and typed


class ApprovalDone(StrEnum):
    """What was just done, carried in the address of the page that says so."""

    CONFIRMED = "confirmed"
    TAKEN_AWAY = "taken-away"
    CLOCK = "clock"


async def approvals_page(request: web.Request) -> web.StreamResponse:
    """`GET /desk/approvals`: every sheet, and what was done."""
    return await _list_page(request, status=200)


async def draft_form(request: web.Request) -> web.StreamResponse:
    """`GET /desk/approvals/new`."""
    room = parts_of(request)
    choirs = [choir.id for choir in await room.services.choirs.all()]
    links = await room.services.discord.all()
    form = empty_form(room.services.clock.now().date(), choirs, links)
    return await _form_page(request, form, faults={}, status=200)


async def make_draft(request: web.Request) -> web.StreamResponse:
    """`POST /desk/approvals/new`: a draft, or the form again with every fault."""
    room, posted = parts_of(request), await read_posted(request)
    say = room.pages.say
    try:
        sheet_id = await room.services.seating.approvals.draft(posted.fields)
    except InputProblems as problems:
        known = {field.value for field in Field}
        faults = {
            fault.place: [say(f"approval.fault.{fault.place}")]
            for fault in problems.faults
            if fault.place in known
        }
        return await _form_page(request, posted.fields, faults=faults, status=422)
    raise web.HTTPSeeOther(f"/desk/approvals/{sheet_id}")


async def sheet_page(request: web.Request) -> web.StreamResponse:
    """`GET /desk/approvals/<id>`: the sheet as it is printed and signed."""
    return await _sheet_page(request, status=200)


async def sheet_file(request: web.Request) -> web.StreamResponse:
    """`GET /desk/approvals/<id>/file`: the sheet's exact bytes, for the school to keep."""
    sheet_id = request.match_info["sheet"]
    data = await parts_of(request).services.seating.approvals.file(sheet_id)
    name = f"approval-{short_hash(data)}.json"
    return web.Response(
        body=data,
        content_type="application/json",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


async def confirm(request: web.Request) -> web.StreamResponse:
    """`POST /desk/approvals/<id>/confirm`: the hash from the signed print."""
    room, posted = parts_of(request), await read_posted(request)
    try:
        await room.services.seating.approvals.confirm(
            request.match_info["sheet"], posted.text("hash")
        )
    except Refused as refused:
        if refused.key.endswith(".unknown"):
            raise
        return await _sheet_page(request, status=422, fault=refusal(room.pages.say, refused))
    room.services.discord.look_again()
    raise web.HTTPSeeOther(f"/desk/approvals?done={ApprovalDone.CONFIRMED.value}")


async def take_away(request: web.Request) -> web.StreamResponse:
    """`POST /desk/approvals/<id>/remove`: asks once, then the sheet and what it alone held go."""
    room, posted = parts_of(request), await read_posted(request)
    if posted.text("sure") != "yes":
        return await _sheet_page(request, status=200, sure=True)
    await room.services.seating.approvals.take_away(request.match_info["sheet"])
    await room.services.seating.keeper.round()
    raise web.HTTPSeeOther(f"/desk/approvals?done={ApprovalDone.TAKEN_AWAY.value}")


async def trust_clock(request: web.Request) -> web.StreamResponse:
    """`POST /desk/approvals/clock`: today's date is right."""
    await read_posted(request)
    await parts_of(request).services.seating.approvals.trust_clock()
    raise web.HTTPSeeOther(f"/desk/approvals?done={ApprovalDone.CLOCK.value}")


async def approval_notes(room: Parts) -> tuple[str, ...]:
    """What the desk says of approvals today: a sheet that ends soon, a clock in doubt."""
    say, approvals = room.pages.say, room.services.seating.approvals
    notes = [say("approval.clock_doubt")] if await approvals.clock_doubtful() else []
    notes += [
        say("approval.ends_soon", count=line.days_left)
        for line in await approvals.lines()
        if line.standing is Standing.HOLDS
        and line.days_left is not None
        and line.days_left <= WARN_DAYS
    ]
    return tuple(notes)


async def _list_page(request: web.Request, *, status: int) -> web.StreamResponse:
    room = parts_of(request)
    approvals, say = room.services.seating.approvals, room.pages.say
    names = {choir.id: choir.name for choir in await room.services.choirs.all()}
    lines = [
        {
            "line": line,
            "choirs": _named(line.sheet.choirs, names) if line.sheet else "",
            "until": say.date(line.sheet.expires_on, "MMMM d, y") if line.sheet else "",
        }
        for line in await approvals.lines()
    ]
    values = {
        "lines": lines,
        "doubt": await approvals.clock_doubtful(),
        "today": say.date(room.services.clock.now().date(), "EEEE, MMMM d, y"),
        "audit": [
            {
                "day": say.date(entry.done_on, "MMM d, y"),
                "what": say(f"audit.{entry.action}"),
                "amount": entry.amount,
                "sheet": entry.sheet or "",
            }
            for entry in reversed((await approvals.audit())[-50:])
        ],
        "done": _done(room, request),
    }
    return desk_page(request, "approvals.html", values, status=status)


async def _form_page(
    request: web.Request,
    fields: Mapping[str, Sequence[str]],
    *,
    faults: Mapping[str, Sequence[str]],
    status: int,
) -> web.StreamResponse:
    room = parts_of(request)
    say = room.pages.say
    values = {
        "fields": fields,
        "faults": faults,
        "choirs": [(choir.id, choir.name) for choir in await room.services.choirs.all()],
        "approvers": [(each.value, say(f"approval.approver.{each}")) for each in Approver],
        "bases": [(each.value, say(f"approval.basis.{each}")) for each in Basis],
        "surfaces": [(each, say(f"approval.surface.{each}")) for each in SURFACES],
        "transports": [(each.value, say(f"approval.transport.{each}")) for each in Transport],
        "activities": [
            (each.value, say(f"approval.activity.{each}")) for each in offered_activities()
        ],
    }
    return desk_page(request, "approval_form.html", values, status=status)


async def _sheet_page(
    request: web.Request, *, status: int, fault: str | None = None, sure: bool = False
) -> web.StreamResponse:
    room, sheet_id = parts_of(request), request.match_info["sheet"]
    approvals, say = room.services.seating.approvals, room.pages.say
    data = await approvals.file(sheet_id)
    try:
        sheet = read_sheet(data, "sheet")
    except InputProblems:
        sheet = None
    names = {choir.id: choir.name for choir in await room.services.choirs.all()}
    standings = {line.sheet_id: line.standing for line in await approvals.lines()}
    printed = short_hash(data)
    values = {
        "sheet": sheet,
        "sheet_id": sheet_id,
        "standing": standings[sheet_id],
        "printed": " ".join(printed[at : at + _GROUP] for at in range(0, len(printed), _GROUP)),
        "choirs": _named(sheet.choirs, names) if sheet else "",
        "dates": {} if sheet is None else _dates(sheet, say),
        "register": [REGISTER[name] for name in sorted(sheet.fields)] if sheet else [],
        "nevers": [say(f"approval.never.{each}") for each in Never],
        "offered": offered_activities(),
        "fault": fault,
        "sure": sure,
    }  # fmt: skip
    return desk_page(request, "approval_sheet.html", values, status=status)


def _dates(sheet: Sheet, say: Wording) -> dict[str, str]:
    """The sheet's dates as they are printed."""
    days = {
        "families_told_on": sheet.families_told_on,
        "valid_from": sheet.valid_from,
        "expires_on": sheet.expires_on,
        "term_ends_on": sheet.term_ends_on,
    }
    if sheet.discord is not None:
        days["attested_on"] = sheet.discord.attested_on
    return {name: say.date(day, "MMMM d, y") for name, day in days.items()}


def _named(choirs: frozenset[str], names: Mapping[str, str]) -> str:
    return ", ".join(sorted(names.get(choir_id, choir_id) for choir_id in choirs))


def _done(room: Parts, request: web.Request) -> str | None:
    say = room.pages.say
    words = {
        ApprovalDone.CONFIRMED: say("approval.done.confirmed"),
        ApprovalDone.TAKEN_AWAY: say("approval.done.taken_away"),
        ApprovalDone.CLOCK: say("approval.done.clock"),
    }
    try:
        return words[ApprovalDone(request.query.get("done", ""))]
    except ValueError:
        return None
