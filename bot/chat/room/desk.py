"""The desk's own pages: what needs the director today, the choirs, the status."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from aiohttp import web

from bot.activities.choir import Choir, Steps
from bot.chat.room.approval_desk import approval_notes
from bot.chat.room.board import today_of
from bot.chat.room.choir_form import new_choir_page
from bot.chat.room.entry import desk_page
from bot.chat.room.parts import Parts, parts_of
from bot.chat.room.plan_words import todays_plan
from bot.chat.room.sheets import day_words
from bot.service.readings import Upcoming, UpcomingState
from bot.service.status import ChoirStatus
from bot.wording import Wording

WEEK = 5


class Done(StrEnum):
    """What was just done, carried in the address of the page that says so."""

    ADDED = "added"
    SAVED = "saved"
    REMOVED = "removed"
    REDRAWN = "redrawn"
    MUSIC = "music"
    MUSIC_TO_LOOK_OVER = "music-to-look-over"
    PINNED = "pinned"
    UNPINNED = "unpinned"
    SWAPPED = "swapped"
    POSTED = "posted"
    OPENED = "opened"
    PARTNERS = "partners"
    READING = "reading"
    PASSPHRASE = "passphrase"  # noqa: S105 - the word, no secret


@dataclass(frozen=True, slots=True, kw_only=True)
class DayView:
    """One of the coming five sheets."""

    on: date
    day: str
    time: str
    due: bool
    today: bool
    state: UpcomingState
    title: str
    summary: str
    changeable: bool
    unsure: bool
    steps: Steps
    pinned: bool
    swapped: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoirLine:
    """A choir on the desk: its coming days, what needs a look, and today's plan in a sentence."""

    choir: Choir
    days: tuple[DayView, ...]
    troubles: tuple[str, ...]
    plan: str | None


async def desk(request: web.Request) -> web.StreamResponse:
    """`/desk`: set-up on the first run, else the choirs and their week."""
    room = parts_of(request)
    choirs = await room.services.choirs.all()
    if not choirs:
        return await new_choir_page(request, first=True)
    status = await room.services.status()
    troubles = {line.choir_id: trouble_lines(room.pages.say, line) for line in status.choirs}
    lines = [
        ChoirLine(
            choir=choir,
            days=await days_of(room, choir),
            troubles=troubles.get(choir.id, ()),
            plan=todays_plan(room.pages.say, await room.services.plans.week(choir.id)),
        )
        for choir in choirs
    ]
    values = {
        "lines": lines,
        "done": done_words(request),
        "has_passphrase": await room.services.desk.has_passphrase(),
        "notes": await approval_notes(room),
    }
    return desk_page(request, "desk.html", values)


async def status(request: web.Request) -> web.StreamResponse:
    """`/desk/status`: the last and the next posting of each choir, and what to do about faults."""
    room = parts_of(request)
    found = await room.services.status()
    say = room.pages.say
    rows = [
        {
            "name": line.choir_name,
            "id": line.choir_id,
            "last": _moment(say, line.last_at),
            "next": _moment(say, line.next_at),
            "troubles": trouble_lines(say, line),
        }
        for line in found.choirs
    ]
    size = say("desk.status.megabytes", size=f"{found.data_bytes / 1_000_000:.1f}")
    values = {"rows": rows, "version": found.version, "size": size, "address": room.address.url}
    return desk_page(request, "status.html", values)


async def days_of(room: Parts, choir: Choir, unsure: Collection[date] = ()) -> tuple[DayView, ...]:
    """The coming five meetings of a choir; `unsure` are days whose line may not have arrived."""
    say, today = room.pages.say, today_of(room, choir)
    coming = await room.services.readings.upcoming(choir.id, WEEK)
    now = room.services.clock.now()
    return tuple(day_view(say, item, today, unsure, due=item.at <= now) for item in coming)


def day_view(
    say: Wording, item: Upcoming, today: date, unsure: Collection[date], *, due: bool
) -> DayView:
    """One coming meeting in words; `due` once its time to go up has come."""
    return DayView(
        on=item.on,
        day=day_words(say, item.on, today),
        time=say.time(item.at.time()).replace(" ", "\u00a0"),
        due=due,
        today=item.on == today,
        state=item.state,
        title=item.title,
        summary=item.summary,
        changeable=item.state
        in (UpcomingState.PLANNED, UpcomingState.READY, UpcomingState.REFUSED),
        unsure=item.on in unsure,
        steps=item.steps,
        pinned=item.pinned,
        swapped=item.swapped,
    )


def trouble_lines(say: Wording, line: ChoirStatus) -> tuple[str, ...]:
    """Each thing that needs the director: what happened, what it means, what to do."""
    sentences = [line.trouble] if line.trouble else []
    if line.unsure:
        sentences.append(
            say("desk.status.unsure", count=len(line.unsure), days=_days(say, line.unsure))
        )
    if line.missed:
        sentences.append(
            say("desk.status.missed", count=len(line.missed), days=_days(say, line.missed))
        )
    sentences += line.range_tests
    return tuple(sentences)


def done_words(request: web.Request) -> str | None:
    """The sentence for what was just done, if the address tells of something."""
    say = parts_of(request).pages.say
    words = {
        Done.ADDED: say("desk.done.added"),
        Done.SAVED: say("desk.done.saved"),
        Done.REMOVED: say("desk.done.removed"),
        Done.REDRAWN: say("desk.done.redrawn"),
        Done.MUSIC: say("desk.done.music"),
        Done.MUSIC_TO_LOOK_OVER: " ".join((say("desk.done.music"), say("formats.midi.spelling"))),
        Done.PINNED: say("desk.done.pinned"),
        Done.UNPINNED: say("desk.done.unpinned"),
        Done.PARTNERS: say("partners.done"),
        Done.READING: say("criteria.day_done"),
        Done.SWAPPED: say("desk.done.swapped"),
        Done.POSTED: say("desk.done.posted"),
        Done.OPENED: say("stage.hearing_line.opened"),
        Done.PASSPHRASE: say("desk.done.passphrase"),
    }
    try:
        return words[Done(request.query.get("done", ""))]
    except ValueError:
        return None


def back_to_day(choir_id: str, done: Done, on: date) -> web.HTTPSeeOther:
    """To the day's sheet on the choir's page, which says there what was done."""
    return web.HTTPSeeOther(f"/desk/choir/{choir_id}?done={done.value}&day={on}#day-{on}")


def done_day(request: web.Request) -> date | None:
    """The day with which something was just done, if the address tells of one."""
    try:
        return date.fromisoformat(request.query.get("day", ""))
    except ValueError:
        return None


def _days(say: Wording, days: Sequence[date]) -> str:
    return ", ".join(say.date(day, "MMM d") for day in days)


def _moment(say: Wording, at: datetime | None) -> str | None:
    if at is None:
        return None
    return say("desk.status.moment", day=say.date(at.date()), time=say.time(at.time()))
