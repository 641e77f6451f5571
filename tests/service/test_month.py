"""A month in one look."""

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from bot.activities.calendar import Meeting, Weekdays
from bot.activities.reading_day import Phase
from bot.service.month import DayMark, mark_of
from tests.fakes.choirs import MONDAY, NEW_YORK, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.surface import FakeSurface
from tests.fakes.world import SIX, open_world

_DAY = timedelta(days=1)
_CHOIR = a_choir()
_WEDNESDAY = MONDAY + 2 * _DAY


def _off(*days):
    return replace(
        _CHOIR,
        meeting=Meeting(pattern=Weekdays(days=frozenset(range(5))), days_off=frozenset(days)),
    )


@pytest.mark.parametrize(
    ("on", "phases", "drawn", "mark"),
    [
        (MONDAY, {Phase.SENT}, True, DayMark.POSTED),
        (MONDAY, {Phase.CLAIMED}, True, DayMark.POSTED),
        (MONDAY, {Phase.SENT, Phase.MISSED}, True, DayMark.POSTED),
        (MONDAY, {Phase.UNSURE}, True, DayMark.UNSURE),
        (MONDAY, {Phase.MISSED}, False, DayMark.MISSED),
        (MONDAY, (), True, DayMark.NONE),
        (_WEDNESDAY, (), True, DayMark.READY),
        (_WEDNESDAY, (), False, DayMark.PLANNED),
        (MONDAY + 5 * _DAY, (), False, DayMark.NONE),
        (MONDAY - 3 * _DAY, (), False, DayMark.NONE),
    ],
)
def test_what_is_known_of_a_day_makes_its_mark(on, phases, drawn, mark):
    assert mark_of(_CHOIR, on, _WEDNESDAY, phases, drawn=drawn) is mark


def test_a_day_off_is_off_and_a_missed_one_becomes_so():
    off = _off(MONDAY, _WEDNESDAY, MONDAY + 5 * _DAY)

    assert mark_of(off, _WEDNESDAY, _WEDNESDAY, (), drawn=True) is DayMark.OFF
    assert mark_of(off, MONDAY, _WEDNESDAY, {Phase.MISSED}, drawn=False) is DayMark.OFF
    assert mark_of(off, MONDAY, _WEDNESDAY, {Phase.SENT}, drawn=True) is DayMark.POSTED
    assert mark_of(off, MONDAY + 5 * _DAY, MONDAY, (), drawn=False) is DayMark.NONE


async def test_a_month_shows_what_was_posted_missed_and_is_to_come(tmp_path):
    clock, surface = FakeClock(SIX), FakeSurface("room")
    async with open_world(tmp_path, clock, surface) as world:
        await world.services.choirs.add(_CHOIR)
        clock.set(SIX + timedelta(hours=3))
        await world.assembly.scheduler.round()
        clock.set(SIX + timedelta(days=2, hours=3))  # Tuesday goes by unseen
        await world.assembly.scheduler.round()
        await world.services.readings.preview("choir-1", MONDAY + 3 * _DAY)

        weeks = await world.services.papers.months.weeks("choir-1", date(2026, 9, 1))

    assert len(weeks) == 5
    assert [len(week) for week in weeks] == [5] * 5
    (week,) = [week for week in weeks if week[0].on == MONDAY]
    assert [day.mark for day in week] == [
        DayMark.POSTED,
        DayMark.MISSED,
        DayMark.POSTED,
        DayMark.READY,
        DayMark.PLANNED,
    ]
    assert [day.title is not None for day in week] == [True, False, True, True, False]
    assert [day.today for day in week] == [False, False, True, False, False]
    assert [day.inside for day in weeks[0]] == [False, True, True, True, True]


async def test_a_choir_that_sings_on_saturdays_has_them_in_its_weeks(tmp_path):
    saturdays = replace(_CHOIR, meeting=Meeting(pattern=Weekdays(days=frozenset({5}))))
    async with open_world(tmp_path, FakeClock(SIX)) as world:
        await world.services.choirs.add(saturdays)
        weeks = await world.services.papers.months.weeks("choir-1", date(2026, 9, 1))

    assert [len(week) for week in weeks] == [5, 5, 7, 7, 7]


async def test_the_board_and_the_month_agree_on_the_choirs_own_day(tmp_path):
    late = datetime.combine(MONDAY, time(22, 30), ZoneInfo(NEW_YORK))  # Tuesday in UTC
    async with open_world(tmp_path, FakeClock(late)) as world:
        await world.services.choirs.add(_CHOIR)
        weeks = await world.services.papers.months.weeks("choir-1", date(2026, 9, 1))

    assert [day.on for week in weeks for day in week if day.today] == [MONDAY]
