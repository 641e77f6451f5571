"""Spans told from home: under the approval only, changeable for the week, one figure after it."""

import json
from datetime import date, timedelta

import pytest

from bot.activities.curtain import HomeWeek
from bot.errors import InputProblems, NotAllowedToKeep, Refused
from bot.privacy.approval import Activity, fields_needed, read_sheet
from bot.privacy.fields import REGISTER, Kind
from bot.service.clips import Earlier, films_beats
from bot.store.backup import portable_copy
from bot.store.folder import DATABASE
from bot.store.home_spans import keep_home_week, keep_span
from bot.store.readings import add_reading, find_reading
from bot.store.seat_safe import unseal
from bot.store.seats import Seat, add_seat
from tests.fakes.choirs import MONDAY, a_choir, a_reading
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, open_world
from tests.music.lines import line as written_line
from tests.privacy.sheets import a_sheet, written
from tests.service.seated import rows_of, sign

SPAN = sorted({Activity.SPAN})
LINE = written_line(" | ".join(["do:q re:q mi:q re:q"] * 7 + ["do:w"]))
WEEK = timedelta(weeks=1)


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as opened:
        yield opened


@pytest.fixture
def spans(world):
    return world.services.seating.spans


async def made(world, count=6, activities=SPAN, **changes):
    """Seats under a sheet, and a line of eight measures: the seats' ids, the reading's id."""
    await world.services.choirs.add(a_choir())
    await sign(world, activities=frozenset(activities), **changes)
    seats = [
        Seat(id=f"seat-of-{n:02}-", choir_id="choir-1", number=n, made_on=MONDAY)
        for n in range(1, count + 1)
    ]
    async with world.database.transaction(fields_needed(frozenset(activities))) as change:
        for seat in seats:
            await add_seat(change, seat)
        await add_reading(change, a_reading(exercise=LINE))
    return [seat.id for seat in seats], "reading-1"


async def tell_all(world, seats, line, beats):
    for seat, held in zip(seats, beats, strict=True):
        await world.services.seating.spans.tell(seat, line, held)


async def next_week(world, weeks=1):
    world.clock.set(NINE + weeks * WEEK)
    await world.services.seating.keeper.round()


async def test_a_seat_has_one_number_a_week_and_can_change_it_or_leave_it_out(world, spans):
    (seat, *_), line = await made(world)
    asked = await spans.asked(seat)
    assert (asked.told, asked.last, asked.least) == (None, date(2026, 9, 20), 5)
    for beats in (3, 0, 5):
        await spans.tell(seat, line, beats)
        assert (await spans.asked(seat)).told == beats
    assert await rows_of(world.database, "home_spans") == [(seat, "2026-09-14", 5)]
    world.clock.set(NINE + timedelta(days=6))
    await spans.tell(seat, line, None)
    assert (await spans.asked(seat)).told is None
    assert await rows_of(world.database, "home_spans") == []


async def test_more_than_the_films_leave_is_refused(world, spans):
    (seat, *_), line = await made(world)
    async with world.database.snapshot() as read:
        (beats,) = films_beats(await find_reading(read, line), Earlier())
    await spans.tell(seat, line, len(beats))
    for wrong in (-1, len(beats) + 1):
        with pytest.raises(Refused, match=r"curtain\.beats"):
            await spans.tell(seat, line, wrong)
    assert (await spans.asked(seat)).told == len(beats)


async def test_a_line_of_another_choir_or_of_none_is_refused(world, spans):
    (seat, *_), _ = await made(world)
    await world.services.choirs.add(a_choir("choir-2"))
    async with world.database.transaction() as change:
        await add_reading(change, a_reading("theirs", choir_id="choir-2", exercise=LINE))
    for other in ("theirs", "no-such-line"):
        with pytest.raises(Refused, match=r"reading\.unknown"):
            await spans.tell(seat, other, 1)
    assert await rows_of(world.database, "home_spans") == []


@pytest.mark.parametrize("activities", [(), (Activity.TAPS,)], ids=["nothing", "taps"])
async def test_where_the_school_did_not_approve_it_nothing_is_asked_or_kept(
    world, spans, activities
):
    (seat, *_), line = await made(world, activities=activities)
    assert await spans.asked(seat) is None
    assert not await spans.asked_in("choir-1")
    for beats in (2, None):
        with pytest.raises(Refused, match=r"span\.not_asked"):
            await spans.tell(seat, line, beats)
    async with world.database.transaction() as change:
        with pytest.raises(NotAllowedToKeep, match=r"home_spans\.seat_id"):
            await keep_span(change, seat, MONDAY, 2)
    assert await rows_of(world.database, "home_spans") == []


async def test_when_the_sheet_expires_nothing_more_is_taken_and_the_week_leaves_no_figure(
    world, spans
):
    seats, line = await made(world, expires_on="2026-09-17", term_ends_on="2026-09-17")
    await tell_all(world, seats, line, [3] * 6)
    world.clock.set(NINE + timedelta(days=4))
    with pytest.raises(Refused, match=r"span\.not_asked"):
        await spans.tell(seats[0], line, 4)
    await next_week(world)
    assert await rows_of(world.database, "home_spans") == []
    assert await rows_of(world.database, "home_span_weeks") == []


async def test_the_week_becomes_one_figure_of_the_class_and_the_numbers_are_gone(
    world, spans, tmp_path
):
    seats, line = await made(world)
    await tell_all(world, seats, line, [0, 2, 3, 4, 6, 7])
    assert await spans.weeks("choir-1") == ()  # nobody watches it grow
    await next_week(world)
    assert await spans.weeks("choir-1") == (HomeWeek(monday=MONDAY, seats=6, middle=3.5),)
    assert await rows_of(world.database, "home_spans") == []
    assert (await spans.asked(seats[0])).told is None
    await world.services.seating.keeper.round()
    assert len(await spans.weeks("choir-1")) == 1


async def test_the_day_after_sunday_ends_the_week_where_the_choir_sings(world, spans):
    seats, line = await made(world)
    await tell_all(world, seats, line, [1] * 6)
    # Two o'clock on Monday in London is still Sunday evening in New York.
    for hours, left in ((-11, 6), (-8, 0)):
        world.clock.set(NINE + WEEK + timedelta(hours=hours))
        await world.services.seating.keeper.round()
        assert len(await rows_of(world.database, "home_spans")) == left


async def test_fewer_than_the_smallest_group_leave_no_figure_at_all(world, spans):
    seats, line = await made(world)
    await tell_all(world, seats[:4], line, [1, 2, 3, 4])
    await next_week(world)
    assert await rows_of(world.database, "home_spans") == []
    assert await rows_of(world.database, "home_span_weeks") == []


async def test_a_stricter_sheet_hides_weeks_of_before(world, spans):
    seats, line = await made(world)
    await tell_all(world, seats, line, [2] * 6)
    await next_week(world)
    await world.services.seating.approvals.take_away("sheet-1")
    assert await spans.weeks("choir-1") == ()
    display = {"least_in_class": 7, "least_outside": 10}
    await sign(world, sheet_id="sheet-2", activities=frozenset(SPAN), display=display)
    assert await spans.weeks("choir-1") == ()


async def test_a_seat_that_is_forgotten_is_in_no_figure_and_no_byte(world, spans, tmp_path):
    seats, line = await made(world)
    await tell_all(world, seats, line, [2] * 6)
    await world.services.seating.rights.forget(seats[0], by_director=False)
    data = b"".join(file.read_bytes() for file in tmp_path.rglob("*") if file.is_file())
    assert seats[0].encode() not in data
    await next_week(world)
    assert [week.seats for week in await spans.weeks("choir-1")] == [5]


async def test_own_data_and_the_familys_copy_have_the_number_and_an_export_groups_of_ten(
    world, spans
):
    seats, line = await made(world, count=10)
    rights = world.services.seating.rights
    await spans.tell(seats[0], line, 4)
    told = [{"begins": "2026-09-14", "beats": 4}]
    assert (await rights.copy_of(seats[0]))["spans"] == told
    assert (await rights.copy_for_family("choir-1", 1))["spans"] == told
    assert (await rights.copy_of(seats[1]))["spans"] == []
    few = HomeWeek(monday=MONDAY - WEEK, seats=9, middle=3.0)
    async with world.database.transaction() as change:
        await keep_home_week(change, "choir-1", few)
    await tell_all(world, seats, line, [4, 1, 1, 2, 2, 2, 3, 3, 3, 3])
    await next_week(world)
    assert json.loads(await rights.export("choir-1"))["span_at_home"] == {
        "2026-09-07": {"seats": None, "middle": None},
        "2026-09-14": {"seats": 10, "middle": 2.5},
    }


async def test_neither_the_sealed_copy_nor_a_backup_has_anybodys_number(world, spans, tmp_path):
    seats, line = await made(world)
    await tell_all(world, seats, line, [2] * 6)
    await world.services.seating.keeper.round()
    copy = unseal(tmp_path)
    assert {row["seat_id"] for row in copy.tables["seats"]} == set(seats)
    assert "home_spans" not in copy.tables
    assert seats[0].encode() in (tmp_path / DATABASE).read_bytes()
    assert seats[0].encode() not in portable_copy(tmp_path / DATABASE)


async def test_figures_go_after_a_year_and_with_their_choir(world, spans):
    await made(world)
    old = MONDAY - timedelta(weeks=53)
    async with world.database.transaction() as change:
        for monday in (old, MONDAY - WEEK):
            await keep_home_week(change, "choir-1", HomeWeek(monday=monday, seats=6, middle=2.0))
    await world.services.seating.keeper.round()
    assert [row[1] for row in await rows_of(world.database, "home_span_weeks")] == ["2026-09-07"]
    await world.services.seating.rights.remove_choir("choir-1")
    assert await rows_of(world.database, "home_span_weeks") == []


async def test_weeks_at_home_join_the_span_by_which_the_curtain_is_drawn(world):
    seats, line = await made(world)
    curtains = world.services.play.curtains
    assert (await curtains.span("choir-1")).now == 2
    await tell_all(world, seats, line, [6] * 6)
    assert (await curtains.span("choir-1")).now == 2
    await next_week(world)
    assert (await curtains.span("choir-1")).now == 6
    places = {await curtains.place("choir-1", line) for _ in range(60)}
    async with world.database.snapshot() as read:
        exercise = (await find_reading(read, line)).exercise
    assert max(places) <= float(exercise.length / exercise.metre.pulse) - 2 - 6


def test_a_sheet_that_keeps_taps_for_less_than_a_week_cannot_allow_it():
    kept = {"taps": 6, "ballots": 7, "after_term": 30, "totals": 365, "audit": 365, "backup": 7}
    with pytest.raises(InputProblems, match="until the week ends"):
        read_sheet(written(a_sheet(activities=frozenset(SPAN), kept_days=kept)), "sheet")
    kept["taps"] = 7
    sheet = read_sheet(written(a_sheet(activities=frozenset(SPAN), kept_days=kept)), "sheet")
    assert {"home_spans.seat_id", "home_spans.begins", "home_spans.beats"} <= sheet.fields


def test_no_table_of_the_class_names_a_seat():
    of_class = [field for field in REGISTER.values() if field.table == "home_span_weeks"]
    assert {field.kind for field in of_class} == {Kind.TOTAL}
    assert {field.column for field in of_class} == {"choir_id", "begins", "seats", "middle"}
