"""A changed calendar and the days that are over."""

from datetime import date, timedelta

import pytest

from bot.activities.calendar import Meeting, Weekdays
from bot.activities.reckoning import still_missed

_TODAY = date(2026, 9, 28)  # a Monday
_DAY = timedelta(days=1)


@pytest.mark.parametrize(("back", "missed"), [(3, False), (14, False), (17, True)])
def test_a_missed_day_that_became_a_day_off_is_missed_no_more_for_a_fortnight(back, missed):
    on = _TODAY - back * _DAY
    weekdays = Weekdays(days=frozenset(range(5)))
    assert still_missed(Meeting(pattern=weekdays), on, _TODAY)

    off = Meeting(pattern=weekdays, days_off=frozenset({on}))

    assert still_missed(off, on, _TODAY) is missed
