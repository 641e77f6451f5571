"""The curtain: where it may fall, how likely each place is, and what a choir's span is."""

from collections import Counter
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.activities.curtain import (
    FIRST_SPAN,
    MOST_LIKELY,
    Fall,
    Spot,
    chances,
    drawn,
    left_after,
    own_span,
    place_at,
    places,
    span_weeks,
)
from tests.music.lines import line

MONDAY = date(2026, 9, 7)
FOUR = line("do:q re:q mi:q fa:q | so:q fa:q mi:h | re:q mi:q fa:q re:q | do:w")
EIGHT = line(
    "do:q re:q mi:q fa:q | so:q fa:q mi:h | re:q mi:q fa:q re:q | mi:h. r:q | "
    "so:q fa:q mi:q re:q | mi:h so:h | fa:q mi:q re:q re:q | do:w"
)
WALTZ = line("do:q re:q mi:q | fa:h. | mi:q re:q mi:q | do:h. ", metre="3/4")
LINES = (FOUR, EIGHT, WALTZ)
TERM = 60  # falls: two in a lesson, two days a week, a season long


def fall(measure=2, beat=1, on=MONDAY, **changes):
    return Fall(on=on, spot=Spot(measure=measure, beat=Fraction(beat)), left=8, **changes)


def a_term(exercise, seed):
    """The falls of a term, each drawn over all those before it."""
    falls = []
    for number in range(TERM):
        place = drawn(exercise, falls, seed * 1000 + number)
        on = MONDAY + timedelta(days=number)
        falls.append(Fall(on=on, spot=place.spot, left=left_after(exercise, place)))
    return falls


def test_the_page_goes_after_the_first_bar_line_and_before_the_span_and_two_beats():
    found = [place.pulses for place in places(FOUR, 3)]
    assert (min(found), max(found)) == (4, 16 - 2 - 3)
    assert places(FOUR, 3)[0].spot == Spot(measure=2, beat=Fraction(1))


def test_a_pickup_is_not_taken_for_the_first_measure():
    exercise = line("do:q re:q mi:q fa:q | so:w | fa:q mi:q re:q mi:q | do:h.", pickup="so,:q")
    assert places(exercise, 2)[0].pulses == 5


def test_the_page_does_not_go_on_the_last_beat_of_a_phrase():
    found = {place.pulses for place in places(EIGHT, 2)}
    assert 15 not in found
    assert {14, 16} <= found


def test_a_short_line_uses_places_between_the_beats():
    found = [place.pulses for place in places(WALTZ, 5)]
    assert Fraction(7, 2) in found
    assert len(found) >= 4


@pytest.mark.parametrize("exercise", LINES, ids=["four", "eight", "waltz"])
def test_a_choir_that_reads_far_ahead_is_never_refused_and_gets_the_earliest_places(exercise):
    first = exercise.metre.measure / exercise.metre.pulse
    end = exercise.length / exercise.metre.pulse - 2
    for span in range(2, 40):
        found = [place.pulses for place in places(exercise, span)]
        assert len(found) >= 4
        assert min(found) == first
        assert max(found) <= max(end - span, first + Fraction(3, 2))


def test_a_line_without_room_is_refused():
    with pytest.raises(ValueError, match="2 measures"):
        places(line("do:w | do:w"), 2)


@given(
    st.sampled_from(LINES),
    st.lists(st.tuples(st.integers(1, 9), st.integers(1, 8)), max_size=40),
)
@settings(max_examples=150, deadline=None)
def test_no_place_is_surer_than_a_third_whatever_fell_before(exercise, spots):
    found = chances(exercise, [fall(*spot) for spot in spots])
    assert sum(chance for _, chance in found) == 1
    assert max(chance for _, chance in found) <= MOST_LIKELY
    assert all(chance > 0 for _, chance in found)
    if spots:
        assert fall(*spots[-1]).spot not in {place.spot for place, _ in found}


@pytest.mark.parametrize("exercise", LINES, ids=["four", "eight", "waltz"])
def test_places_apart_are_left_out_the_latest_first_as_long_as_enough_are_left(exercise):
    all_of_them = [place.spot for place in places(exercise, FIRST_SPAN)]
    for count in range(len(all_of_them) + 1):
        apart = all_of_them[:count]
        left = [place.spot for place, _ in chances(exercise, [], apart=apart)]
        barred = apart[max(0, count - (len(all_of_them) - 3)) :]
        assert left == [spot for spot in all_of_them if spot not in barred]
        assert len(left) >= 3


@pytest.mark.parametrize("exercise", LINES, ids=["four", "eight", "waltz"])
def test_over_a_term_every_place_is_used_and_none_twice_running(exercise):
    for seed in range(8):
        falls = a_term(exercise, seed)
        spots = [each.spot for each in falls]
        assert all(one != other for one, other in pairwise(spots))
        assert set(spots) == {place.spot for place in places(exercise, FIRST_SPAN)}


def test_the_distribution_over_many_terms_leans_on_no_place():
    """Every place within a phrase comes as often as any other, to a tenth, and each first beat."""
    counts = Counter(each.spot for seed in range(12) for each in a_term(EIGHT, seed))
    even = sum(counts.values()) / len(counts)
    shares = {spot: round(count / even, 2) for spot, count in sorted(counts.items())}
    assert len(shares) == len(places(EIGHT, FIRST_SPAN))
    assert min(shares.values()) > 0.8, shares
    assert max(shares.values()) < 1.2, shares


def test_the_next_place_cannot_be_told_from_the_seed_of_the_last():
    first = {drawn(EIGHT, [], seed).spot for seed in range(200)}
    assert len(first) == len(places(EIGHT, FIRST_SPAN))


def test_a_choirs_span_is_the_middle_of_its_latest_counts():
    assert own_span([]) == FIRST_SPAN
    assert own_span([fall(held=3), fall(), fall(held=6), fall(held=5)]) == 5
    old = [fall(held=1)] * 8
    assert own_span([*old, *[fall(held=7)] * 8]) == 7


def test_a_longer_span_brings_the_curtain_earlier():
    short = max(place.pulses for place, _ in chances(EIGHT, [fall(held=2)]))
    wide = max(place.pulses for place, _ in chances(EIGHT, [fall(held=6)]))
    assert short - wide == 4


def test_the_span_is_told_by_weeks_and_weeks_without_a_count_are_left_out():
    late = MONDAY + timedelta(days=16)
    falls = [
        fall(on=MONDAY + timedelta(days=2), held=3),
        fall(on=MONDAY + timedelta(days=4), held=5),
        fall(on=MONDAY + timedelta(days=8)),
        fall(on=late, held=6),
    ]
    first, second = span_weeks(falls)
    assert (first.monday, first.times, first.middle, first.least, first.most) == (
        MONDAY, 2, 4.0, 3, 5,
    )  # fmt: skip
    assert second.monday == MONDAY + timedelta(days=14)


def test_beats_that_are_left_are_counted_from_the_place():
    assert left_after(FOUR, place_at(FOUR, Fraction(9))) == 7
