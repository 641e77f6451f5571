"""A week is kept by half of its days; nothing that a singer cannot help ever breaks a row."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from bot.activities.practice import (
    AUTOMATIC_RESTS,
    Mark,
    WeekCount,
    may_mark,
    practice_row,
    rests_needed,
)

MONDAY = date(2026, 9, 14)


def week(number: int, days: str = "MTWRF") -> list[date]:
    return [MONDAY + timedelta(weeks=number, days="MTWRF".index(day)) for day in days]


def on(number: int, day: str) -> date:
    return week(number, day)[0]


def test_three_of_five_keep_a_week_and_two_do_not_without_rests():
    kept = practice_row(week(0), week(0, "MTW"), on(1, "M"))

    assert (kept.in_a_row, kept.kept, kept.rests_left) == (1, 1, AUTOMATIC_RESTS)
    assert rests_needed(5, 2) == 1


def test_a_week_one_day_short_takes_a_rest_by_itself():
    row = practice_row(week(0), week(0, "MT"), on(1, "M"))

    assert (row.in_a_row, row.kept, row.rests_left) == (1, 1, AUTOMATIC_RESTS - 1)


def test_a_week_in_bed_is_no_week():
    offered = week(0) + week(1) + week(2)

    row = practice_row(offered, week(0, "MTW") + week(2, "MTW"), on(3, "M"))

    assert (row.in_a_row, row.kept, row.rests_left) == (2, 2, 1)


def test_when_the_rests_are_spent_the_row_begins_again_and_all_weeks_stay():
    offered = [day for number in range(4) for day in week(number)]
    read = week(0, "MTW") + week(3, "MTW")

    row = practice_row(offered, read, on(4, "M"))

    assert (row.in_a_row, row.kept) == (1, 2)


def test_a_week_without_an_offer_changes_nothing():
    row = practice_row(week(0) + week(2), week(0, "MTW") + week(2, "MTW"), on(3, "M"))

    assert row.in_a_row == 2


def test_a_given_rest_takes_its_day_out_of_the_offer():
    row = practice_row(week(0, "MT"), week(0, "M"), on(1, "M"), given_rests=week(0, "T"))

    assert (row.kept, row.rests_left) == (1, AUTOMATIC_RESTS)


def test_the_running_week_counts_when_kept_and_never_against_anybody():
    begun = practice_row(week(0) + week(1), week(0, "MTW"), on(1, "F"))
    kept = practice_row(week(0) + week(1), week(0, "MTW") + week(1, "MTW"), on(1, "F"))

    assert (begun.in_a_row, kept.in_a_row) == (1, 2)


def test_a_week_that_was_counted_is_not_taken_back_by_its_own_friday():
    kept = [
        practice_row(week(0)[: n + 1], week(0, "MT")[: n + 1], on(0, day), coming=4 - n).kept
        for n, day in enumerate("MTWRF")
    ]

    assert kept == [0, 0, 0, 0, 0]
    assert practice_row(week(0, "MTW"), week(0, "MTW"), on(0, "W"), coming=2).kept == 1


def test_days_stand_as_notes_rests_and_open_circles():
    row = practice_row(week(0), week(0, "M"), on(0, "F"), given_rests=week(0, "R"))

    assert [day.mark for day in row.weeks[0]] == [
        Mark.READ,
        Mark.OPEN,
        Mark.OPEN,
        Mark.REST,
        Mark.OPEN,
    ]


def test_a_day_is_marked_up_to_three_days_back_and_never_ahead():
    offered = week(0)

    allowed = [may_mark(offered, day, on(0, "R")) for day in offered]

    assert allowed == [True, True, True, True, False]
    assert not may_mark(offered, on(0, "M"), on(0, "F"))


@given(
    st.lists(
        st.tuples(st.integers(0, 5), st.integers(0, 5)).map(lambda p: (max(p), min(p))),
        max_size=40,
    )
)
def test_all_weeks_kept_never_fall_and_folding_changes_nothing(weeks: list[tuple[int, int]]):
    counts = [
        WeekCount(begins=MONDAY + timedelta(weeks=n), offered=offered, read=read)
        for n, (offered, read) in enumerate(weeks)
    ]
    after = MONDAY + timedelta(weeks=len(weeks))
    rows = [practice_row([], [], after, past=counts[:n]) for n in range(len(counts) + 1)]
    days = [d for n, (offered, _) in enumerate(weeks) for d in week(n)[:offered]]
    read = [d for n, (_, done) in enumerate(weeks) for d in week(n)[:done]]

    whole = practice_row(days, read, after)

    assert [row.kept for row in rows] == sorted(row.kept for row in rows)
    assert all(0 <= row.rests_left <= AUTOMATIC_RESTS for row in rows)
    assert (whole.in_a_row, whole.kept) == (rows[-1].in_a_row, rows[-1].kept)
