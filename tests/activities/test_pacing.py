"""The pace: what is proposed from which evidence, and how weak skills come back over weeks."""

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.activities.pacing import (
    LEAST_DAYS,
    SPACING,
    Because,
    Counts,
    DayEvidence,
    Move,
    focus_of,
    propose_pace,
    weak_steps,
)
from bot.music.sequence import Track

MONDAY = date(2026, 9, 14)
NOW = {Track.PITCH: "p04", Track.RHYTHM: "r03", Track.VOICE: "v01"}
BEFORE = {Track.PITCH: "p03", Track.RHYTHM: "r02", Track.VOICE: None}
AFTER = {Track.PITCH: "p05", Track.RHYTHM: "r04", Track.VOICE: "v02"}
TRACKS = {f"{track.value[0]}{n:02}": track for track in Track for n in range(1, 9)}


def a_day(number, *, steady=0.7, not_yet=0.1, told=True, steps=NOW, **changes):
    return DayEvidence(
        on=MONDAY + timedelta(days=number),
        steps=steps,
        atoms=changes.pop("atoms", {"p01": 4, "r01": 4}),
        counts=Counts(singers=20, steady=steady, not_yet=not_yet) if told else None,
        **changes,
    )


def pace(days, now=NOW, before=BEFORE, after=AFTER):
    return {each.track: each for each in propose_pace(days, now, before, after, TRACKS)}


def test_where_little_is_known_everything_stays_and_says_so():
    found = pace([a_day(n, steady=1.0) for n in range(LEAST_DAYS - 1)])
    assert {each.move for each in found.values()} == {Move.STAY}
    assert {each.because for each in found.values()} == {Because.FEW}
    assert found[Track.PITCH].evidence.told == LEAST_DAYS - 1


def test_a_secure_choir_goes_on_in_the_track_that_waited_longest():
    earlier = NOW | {Track.PITCH: "p03"}
    days = [a_day(n, steady=0.9, steps=earlier) for n in range(5)]
    days += [a_day(n, steady=0.9) for n in range(5, 10)]
    after = AFTER | {Track.VOICE: None}
    found = pace(days, after=after)
    assert (found[Track.RHYTHM].move, found[Track.RHYTHM].to) == (Move.ON, "r04")
    assert found[Track.PITCH].because is Because.OTHER_FIRST
    assert found[Track.VOICE].because is Because.LAST_STEP
    assert (found[Track.RHYTHM].evidence.days, found[Track.PITCH].evidence.days) == (10, 5)


def test_a_lost_choir_goes_back_in_the_track_that_moved_last():
    earlier = NOW | {Track.PITCH: "p03"}
    days = [a_day(n, steps=earlier) for n in range(5)]
    days += [a_day(n, steady=0.2, not_yet=0.5) for n in range(5, 10)]
    found = pace(days)
    assert (found[Track.PITCH].move, found[Track.PITCH].to) == (Move.BACK, "p03")
    assert found[Track.RHYTHM].because is Because.OTHER_FIRST
    assert found[Track.VOICE].because is Because.FIRST_STEP


def test_slips_that_were_heard_say_which_track_goes_back():
    days = [a_day(n, steady=0.2, not_yet=0.5, slips=("r03",)) for n in range(6)]
    found = pace(days)
    assert (found[Track.RHYTHM].move, found[Track.RHYTHM].to) == (Move.BACK, "r02")
    assert found[Track.RHYTHM].evidence.slips == 6


def test_in_between_a_choir_settles():
    found = pace([a_day(n, steady=0.6) for n in range(8)])
    assert {each.because for each in found.values()} == {Because.SETTLING}


def test_verdicts_of_matches_are_evidence_where_nobody_taps():
    days = [a_day(n, told=False, verdicts=(2, 2, 2, 1)) for n in range(LEAST_DAYS)]
    assert pace(days)[Track.PITCH].evidence.steady == pytest.approx(0.75)
    days = [a_day(n, told=False, verdicts=(2, 2, 2, 2)) for n in range(LEAST_DAYS)]
    assert [each.move for each in pace(days).values()].count(Move.ON) == 1


@given(
    st.lists(
        st.builds(
            a_day,
            st.integers(0, 40),
            steady=st.floats(0, 0.5),
            not_yet=st.floats(0, 0.5),
            told=st.booleans(),
            steps=st.sampled_from([NOW, NOW | {Track.PITCH: "p03"}, NOW | {Track.RHYTHM: "r02"}]),
            verdicts=st.lists(st.integers(0, 2), max_size=4).map(tuple),
            slips=st.lists(st.sampled_from(sorted(TRACKS)), max_size=3).map(tuple),
        ),
        max_size=14,
    )
)
def test_one_track_moves_at_a_time_and_never_beyond_the_order(days):
    found = pace(days)
    moved = [each for each in found.values() if each.move is not Move.STAY]
    assert len(moved) <= 1
    for each in found.values():
        there = {Move.ON: AFTER, Move.BACK: BEFORE}.get(each.move)
        assert each.to == (there[each.track] if there else None)
        assert each.move is Move.STAY or each.to is not None


def test_what_goes_badly_is_weak_and_the_newest_thing_is_never_called_so():
    days = [
        a_day(
            n,
            steady=0.3 if n % 2 else 0.9,
            atoms={"p01": 4, "p02" if n % 2 else "p03": 6, "p04": 6},
        )
        for n in range(12)
    ]
    assert weak_steps(days, NOW) == ("p02",)
    assert weak_steps(days, NOW | {Track.PITCH: "p02"}) == ()


def test_slips_weigh_beside_what_the_class_said():
    days = [a_day(n, steady=0.8, atoms={"p01": 3, "p02": 3, "r01": 3}) for n in range(10)]
    assert weak_steps(days, NOW) == ()
    heard = [
        *days[:-3],
        *(a_day(n, steady=0.8, atoms={"p02": 3}, slips=("p02",)) for n in (7, 8, 9)),
    ]
    assert weak_steps(heard, NOW) == ("p02",)


def test_nothing_is_weak_where_little_is_known():
    days = [a_day(n, steady=0.0, atoms={"p02": 9}) for n in range(LEAST_DAYS - 1)]
    assert weak_steps(days, NOW) == ()


@given(st.lists(st.sampled_from(["p01", "p02", "r01", "r02"]), unique=True, max_size=4))
def test_weak_skills_come_back_spaced_and_leave_every_other_line_to_the_newest(weak):
    recent = []
    for _ in range(30):
        recent.append(focus_of(weak, recent))
    for one, other in pairwise(recent):
        assert not (one and other)
    for step in weak:
        at = [n for n, focus in enumerate(recent) if step in focus]
        assert all(later - earlier > SPACING for earlier, later in pairwise(at))
    if weak:
        assert sum(bool(focus) for focus in recent) >= 7


def test_nothing_weak_is_nothing_to_come_back_to():
    assert focus_of((), [(), ()]) == ()
