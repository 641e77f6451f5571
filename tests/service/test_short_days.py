"""Days with another bell, as a director types them."""

from datetime import date, time

import pytest

from bot.activities.calendar import ShortDay
from bot.service.short_days import parse_short_days, write_short_days
from tests.fakes.world import content


@pytest.mark.parametrize("text", ["2026-11-25 9:40", "11/25/2026  09:40", "2026-11-25, 9:40"])
def test_a_short_day_is_a_date_and_the_time_of_its_bell(text):
    days, problems = parse_short_days(f"\n{text}\n", content().wording)

    assert problems == ()
    assert days == {ShortDay(on=date(2026, 11, 25), bell_at=time(9, 40))}


@pytest.mark.parametrize(
    "text",
    ["2026-11-25", "2026-11-25 25:00", "2026-02-30 9:40", "9:40", "2026-11-20 9:40"],
)
def test_a_line_that_is_no_short_day_is_told_by_its_number(text):
    days, problems = parse_short_days(f"2026-11-20 10:00\n{text}", content().wording)

    assert [day.on for day in days] == [date(2026, 11, 20)]
    assert len(problems) == 1
    assert problems[0].startswith("Line 2")


def test_days_are_written_in_order_and_read_back():
    days = {
        ShortDay(on=date(2026, 12, 18), bell_at=time(10)),
        ShortDay(on=date(2026, 11, 25), bell_at=time(9, 40)),
    }
    text = write_short_days(days)
    assert text == "2026-11-25 09:40\n2026-12-18 10:00"
    assert parse_short_days(text, content().wording) == (days, ())
