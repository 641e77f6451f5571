"""The plan: every meeting day reads, two in five are playful, the long unused comes first."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.activities.calendar import Meeting, Rotation, Weekdays, meetings_from
from bot.activities.rotation import (
    PLAYFUL,
    Kind,
    Why,
    check_plan,
    load_of,
    propose,
)
from bot.errors import Refused

MONDAY = date(2026, 9, 14)
EVERY_DAY = Meeting(pattern=Weekdays(days=frozenset(range(5))))
meetings = st.one_of(
    st.frozensets(st.integers(0, 4), min_size=1).map(
        lambda days: Meeting(pattern=Weekdays(days=days))
    ),
    st.builds(
        lambda days: Meeting(pattern=Rotation(meets_on=days, length=6, anchor=MONDAY)),
        st.frozensets(st.integers(1, 6), min_size=1),
    ),
)
kinds = st.sampled_from(Kind)


def days_of(meeting, count=25):
    found = meetings_from(meeting, MONDAY)
    return [next(found) for _ in range(count)]


def plan_of(days, **changes):
    given_ = {"before": (), "kept": {}, "used": {}, "offered": PLAYFUL, "card_measures": 8}
    return propose(days, **{**given_, **changes})


@given(meetings, st.frozensets(st.sampled_from(PLAYFUL)), st.sampled_from([4, 8, 12]))
def test_every_meeting_day_reads_and_never_less_than_a_card_day(meeting, offered, measures):
    days = days_of(meeting)
    plan = plan_of(days, offered=offered, card_measures=measures)
    assert [day.on for day in plan] == days
    assert all(day.load.read >= measures for day in plan)
    assert all(day.kind is Kind.CARD or day.kind in offered for day in plan)


@given(meetings, st.lists(kinds, max_size=4), st.data())
def test_of_five_days_in_a_row_two_are_playful_at_most(meeting, before, data):
    """Whatever was read before, and around whatever the director kept, as long as that fits."""
    days = days_of(meeting)
    known = [(MONDAY - timedelta(days=n + 1), kind) for n, kind in enumerate(before)][::-1]
    kept = data.draw(st.dictionaries(st.sampled_from(days), kinds, max_size=6))
    plan = plan_of(days, before=known, kept=kept)
    row = [*known, *((day.on, day.kind) for day in plan)]
    for start in range(len(row)):
        window = row[start : start + 5]
        playful = [on for on, kind in window if kind is not Kind.CARD]
        own = [on for on in playful if on not in kept and on in days]
        assert len(playful) <= 2 or not own
    assert all(day.kind is kept[day.on] for day in plan if day.on in kept)


@given(meetings)
def test_everything_on_offer_comes_before_anything_comes_again(meeting):
    plan = plan_of(days_of(meeting, 120))
    playful = [day.kind for day in plan if day.kind is not Kind.CARD]
    rounds = len(playful) // len(PLAYFUL)
    assert rounds >= 2
    for number in range(rounds):
        one = playful[number * len(PLAYFUL) : (number + 1) * len(PLAYFUL)]
        assert sorted(one) == sorted(PLAYFUL)


def test_a_week_of_five_days_has_two_between_cards():
    plan = plan_of(days_of(EVERY_DAY, 10))
    assert [day.kind is Kind.CARD for day in plan] == [True, False] * 2 + [True] + [
        True,
        False,
    ] * 2 + [True]
    assert plan[0].why is Why.BEGINS
    assert plan[1].why is Why.NEW
    assert plan[2].why is Why.BETWEEN
    assert plan[4].why in (Why.BETWEEN, Why.SHARE)


def test_the_long_unused_comes_first_and_says_for_how_long():
    used = {kind: MONDAY - timedelta(days=3) for kind in PLAYFUL}
    used[Kind.RETROGRADE] = MONDAY - timedelta(days=40)
    tuesday = plan_of(days_of(EVERY_DAY, 5), used=used)[1]
    assert (tuesday.kind, tuesday.why, tuesday.weeks) == (Kind.RETROGRADE, Why.UNUSED, 5)


def test_what_the_director_keeps_counts_as_used():
    kept = {MONDAY + timedelta(days=1): Kind.MATCH}
    plan = plan_of(days_of(EVERY_DAY, 60), kept=kept)
    matches = [day.on for day in plan if day.kind is Kind.MATCH]
    assert matches[0] == MONDAY + timedelta(days=1)
    between = [
        day for day in plan if matches[0] < day.on < matches[1] and day.kind is not Kind.CARD
    ]
    assert len(between) == len(PLAYFUL) - 1


def test_with_nothing_on_offer_every_day_is_a_card_day():
    plan = plan_of(days_of(EVERY_DAY, 5), offered=())
    assert {day.kind for day in plan} == {Kind.CARD}
    assert plan[1].why is Why.NONE_ELSE


def test_a_choir_that_meets_once_a_week_plays_too():
    weekly = Meeting(pattern=Weekdays(days=frozenset({2})))
    plan = plan_of(days_of(weekly, 10))
    assert 3 <= sum(day.kind is not Kind.CARD for day in plan) <= 4


def test_three_playful_days_in_five_are_refused():
    days = days_of(EVERY_DAY, 5)
    check_plan([(on, Kind.MATCH if n in (0, 4) else Kind.CARD) for n, on in enumerate(days)])
    with pytest.raises(Refused, match=r"plan\.too_many"):
        check_plan([(on, Kind.MATCH if n in (0, 2, 4) else Kind.CARD) for n, on in enumerate(days)])


@pytest.mark.parametrize("kind", PLAYFUL)
@pytest.mark.parametrize("measures", [4, 8, 12, 16])
def test_playing_takes_minutes_that_a_lesson_has(kind, measures):
    load = load_of(kind, measures)
    assert load.read >= measures
    assert load.minutes <= 20
