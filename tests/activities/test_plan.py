"""Which days a choir is due, and when somebody has to look at it again."""

from datetime import UTC, date, datetime, time, timedelta

from bot.activities.calendar import Meeting, Weekdays
from bot.activities.plan import coming, ended, next_instant, open_day
from bot.activities.tempo import reading_tempo_bpm
from bot.music.rhythm import EIGHTH
from tests.fakes.choirs import MONDAY, a_choir, an_exercise

EIGHT_IN_NEW_YORK = datetime(2026, 9, 14, 12, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


def dates(days):
    return [day.on.isoformat() for day in days]


def test_the_coming_days_begin_with_today_and_leave_days_off_out():
    choir = a_choir(
        meeting=Meeting(
            pattern=Weekdays(days=frozenset(range(5))), days_off=frozenset({date(2026, 9, 16)})
        )
    )

    days = coming(choir, EIGHT_IN_NEW_YORK, 4)

    assert dates(days) == ["2026-09-14", "2026-09-15", "2026-09-17", "2026-09-18"]


def test_nothing_is_due_before_the_start():
    choir = a_choir(starts_on=date(2026, 9, 17))

    assert open_day(choir, EIGHT_IN_NEW_YORK) is None
    assert dates(coming(choir, EIGHT_IN_NEW_YORK, 1)) == ["2026-09-17"]


def test_today_is_the_choirs_own_today():
    choir = a_choir(zone="Pacific/Kiritimati")  # fourteen hours ahead of Greenwich
    monday_there = datetime(2026, 9, 13, 20, 0, tzinfo=UTC)

    day = open_day(choir, monday_there)

    assert day is not None
    assert day.on == MONDAY


def test_a_day_is_open_from_its_due_time_to_its_end():
    choir = a_choir()

    assert open_day(choir, EIGHT_IN_NEW_YORK - timedelta(seconds=1)) is None
    assert open_day(choir, EIGHT_IN_NEW_YORK) is not None
    assert open_day(choir, EIGHT_IN_NEW_YORK + 16 * HOUR - timedelta(seconds=1)) is not None
    assert open_day(choir, EIGHT_IN_NEW_YORK + 16 * HOUR) is None


def test_days_that_ended_are_those_after_the_last_one_known():
    thursday_noon = EIGHT_IN_NEW_YORK + timedelta(days=3, hours=4)

    assert dates(ended(a_choir(), MONDAY, thursday_noon)) == ["2026-09-15", "2026-09-16"]


def test_the_next_look_is_at_the_due_time_then_at_the_end_of_the_day():
    choir = a_choir()

    assert next_instant(choir, EIGHT_IN_NEW_YORK - HOUR) == EIGHT_IN_NEW_YORK
    assert next_instant(choir, EIGHT_IN_NEW_YORK) == EIGHT_IN_NEW_YORK + 16 * HOUR
    assert next_instant(choir, EIGHT_IN_NEW_YORK + 16 * HOUR) == EIGHT_IN_NEW_YORK + 24 * HOUR


def test_a_choir_that_never_meets_needs_no_look():
    choir = a_choir(meeting=Meeting(pattern=Weekdays(days=frozenset())))

    assert next_instant(choir, EIGHT_IN_NEW_YORK) is None


def test_a_week_with_a_clock_change_keeps_its_local_hour():
    choir = a_choir(starts_on=date(2026, 10, 30), post_at=time(8))
    friday = datetime(2026, 10, 30, 0, 0, tzinfo=UTC)

    hours = [day.due.hour for day in coming(choir, friday, 2)]

    assert hours == [12, 13]  # New York leaves summer time on the first of November


def test_a_date_that_the_zone_skipped_is_no_meeting():
    choir = a_choir(zone="Pacific/Apia", starts_on=date(2011, 12, 26))

    days = coming(choir, datetime(2011, 12, 28, 20, 0, tzinfo=UTC), 3)

    assert dates(days) == ["2011-12-28", "2011-12-29", "2012-01-02"]


def test_the_tempo_is_slower_where_the_beat_divides_and_the_directors_where_set():
    plain = an_exercise(0, 1, 2, 1, 0, 1)
    first = plain.parts[0].notes[0]
    divided = type(plain)(
        key=plain.key,
        metre=plain.metre,
        parts=(
            type(plain.parts[0])(
                notes=(
                    type(first)(duration=EIGHTH, tone=first.tone),
                    type(first)(duration=EIGHTH, tone=first.tone),
                    *plain.parts[0].notes[1:],
                )
            ),
        ),
    )

    assert reading_tempo_bpm(plain, None) == 69
    assert reading_tempo_bpm(divided, None) == 60
    assert reading_tempo_bpm(divided, 84) == 84
