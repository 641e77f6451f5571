"""One reading day: which events it takes in which phase, and what a moment asks for."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.activities.reading_day import (
    PATIENCE,
    YOUNG,
    Arrived,
    Claimed,
    Composed,
    DayEnded,
    Doubted,
    Effect,
    Move,
    Phase,
    ReadingDay,
    announce,
    apply,
    in_doubt,
    next_move,
)
from bot.errors import Refused
from tests.fakes.choirs import MONDAY

DUE = datetime(2026, 9, 14, 12, 0, tzinfo=UTC)
ENDS = datetime(2026, 9, 15, 4, 0, tzinfo=UTC)
PLANNED = ReadingDay(choir_id="c", on=MONDAY, slot="daily", surface="room")
COMPOSED = apply(PLANNED, Composed(reading_id="r"))
CLAIMED = apply(COMPOSED, Claimed(at=DUE))
SENT = apply(CLAIMED, Arrived(message_id="m", at=DUE))
UNSURE = apply(CLAIMED, Doubted(at=DUE))
MISSED = apply(PLANNED, DayEnded(at=ENDS))

EVENTS = {
    "composed": Composed(reading_id="other"),
    "claimed": Claimed(at=DUE),
    "arrived": Arrived(message_id="m", at=DUE),
    "doubted": Doubted(at=DUE),
    "ended": DayEnded(at=ENDS),
}
TAKEN = {
    Phase.PLANNED: {"composed": Phase.COMPOSED, "ended": Phase.MISSED},
    Phase.COMPOSED: {"composed": Phase.COMPOSED, "claimed": Phase.CLAIMED, "ended": Phase.MISSED},
    Phase.CLAIMED: {"arrived": Phase.SENT, "doubted": Phase.UNSURE, "ended": Phase.MISSED},
    Phase.UNSURE: {"arrived": Phase.SENT, "ended": Phase.MISSED},
    Phase.SENT: {},
    Phase.MISSED: {},
}
STATES = {day.phase: day for day in (PLANNED, COMPOSED, CLAIMED, SENT, UNSURE, MISSED)}


@pytest.mark.parametrize("name", EVENTS)
@pytest.mark.parametrize("phase", Phase)
def test_a_phase_takes_its_own_events_and_refuses_the_rest(phase, name):
    wanted = TAKEN[phase].get(name)

    try:
        found = apply(STATES[phase], EVENTS[name]).phase
    except Refused:
        found = None

    assert found == wanted


def test_a_later_line_takes_the_place_of_an_earlier_one_until_the_claim():
    assert apply(COMPOSED, Composed(reading_id="other")).reading_id == "other"
    with pytest.raises(Refused, match="out_of_order"):
        apply(CLAIMED, Composed(reading_id="other"))


@given(st.lists(st.sampled_from(sorted(EVENTS)), max_size=12))
def test_whatever_happens_a_settled_day_stays_settled(names):
    day = PLANNED
    seen = [day.phase]
    for name in names:
        try:
            day = apply(day, EVENTS[name])
        except Refused:
            continue
        seen.append(day.phase)

    final = [phase for phase in seen if phase in (Phase.SENT, Phase.MISSED)]
    assert final in ([], [seen[-1]])


def test_a_claim_asks_to_send_and_doubt_to_tell_the_director():
    assert announce(COMPOSED, CLAIMED) == (Effect.SEND,)
    assert announce(CLAIMED, UNSURE) == (Effect.TELL_DIRECTOR,)
    assert announce(PLANNED, MISSED) == (Effect.TELL_DIRECTOR,)
    assert announce(PLANNED, COMPOSED) == ()
    assert announce(CLAIMED, SENT) == ()


@pytest.mark.parametrize("day", STATES.values(), ids=list(STATES))
def test_a_replay_says_nothing_twice(day):
    assert announce(day, day) == ()


def test_before_the_due_time_a_day_waits():
    assert next_move(COMPOSED, DUE - timedelta(seconds=1), DUE, ENDS) is Move.WAIT


@pytest.mark.parametrize("day", [PLANNED, COMPOSED])
def test_a_laptop_opened_late_still_posts_until_the_day_ends(day):
    assert next_move(day, DUE, DUE, ENDS) is Move.CLAIM
    assert next_move(day, ENDS - timedelta(seconds=1), DUE, ENDS) is Move.CLAIM
    assert next_move(day, ENDS, DUE, ENDS) is Move.MISS


def test_a_young_claim_is_sent_again_and_an_old_one_looked_for():
    assert next_move(CLAIMED, DUE + YOUNG - timedelta(seconds=1), DUE, ENDS) is Move.SEND_AGAIN
    assert next_move(CLAIMED, DUE + YOUNG, DUE, ENDS) is Move.LOOK_FIRST


def test_a_claim_from_the_future_counts_as_old():
    assert next_move(CLAIMED, DUE - timedelta(hours=1), DUE, ENDS) is Move.LOOK_FIRST


def test_an_unsure_day_is_looked_for_until_it_ends():
    assert next_move(UNSURE, ENDS - timedelta(seconds=1), DUE, ENDS) is Move.LOOK_FIRST
    assert next_move(UNSURE, ENDS, DUE, ENDS) is Move.NOTHING


@pytest.mark.parametrize("day", [SENT, MISSED])
def test_nothing_is_left_to_do_about_a_settled_day(day):
    assert next_move(day, DUE, DUE, ENDS) is Move.NOTHING


def test_a_surface_that_is_away_gets_some_minutes_before_there_is_doubt():
    assert not in_doubt(CLAIMED, DUE + PATIENCE - timedelta(seconds=1), ENDS)
    assert in_doubt(CLAIMED, DUE + PATIENCE, ENDS)
    assert in_doubt(CLAIMED, DUE - timedelta(hours=1), ENDS)


def test_a_nonce_is_the_same_on_every_try_and_differs_by_surface_and_day():
    other_surface = ReadingDay(choir_id="c", on=MONDAY, slot="daily", surface="discord")
    other_day = ReadingDay(
        choir_id="c", on=MONDAY + timedelta(days=1), slot="daily", surface="room"
    )

    assert PLANNED.nonce == SENT.nonce
    assert len({PLANNED.nonce, other_surface.nonce, other_day.nonce}) == 3
    assert len(PLANNED.nonce) <= 25  # the longest that Discord takes
