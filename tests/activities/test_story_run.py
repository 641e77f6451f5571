"""A telling: every call in its place, undone by replay, nothing said twice."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.activities.story_home import Moment, by_itself
from bot.activities.story_run import (
    Advanced,
    Chosen,
    Effect,
    Ended,
    Opened,
    Paused,
    Phase,
    Resumed,
    Undone,
    Venue,
    VoteClosed,
    VoteOpened,
    announce,
    apply,
    may_undo,
    replay,
    standing,
)
from bot.activities.vote import of_ballots, of_hands
from bot.errors import Refused
from tests.fakes.stories import STORY

MONDAY, TUESDAY = date(2026, 9, 14), date(2026, 9, 15)


IN_CLASS = Opened(venue=Venue.CLASS, on=MONDAY)
AT_HOME = Opened(venue=Venue.HOME, on=MONDAY)
HANDS = VoteClosed(outcome=of_hands((12, 9)))
TIE = VoteClosed(outcome=of_hands((9, 9)))


def test_a_class_votes_by_hands_and_goes_on():
    run = replay(STORY, [IN_CLASS, VoteOpened(), HANDS, Advanced(on=TUESDAY)])
    assert (run.scene, run.scene_on, run.phase) == ("loft", TUESDAY, Phase.TELLING)
    assert run.scenes == ("yard", "loft")
    assert run.walked[0].outcome == HANDS.outcome


def test_the_director_taps_the_winner_without_a_count():
    run = replay(STORY, [IN_CLASS, Chosen(path=1), Advanced(on=MONDAY)])
    assert run.scene == "pond"


def test_a_tie_is_a_question_that_the_director_settles():
    events = [IN_CLASS, VoteOpened(), TIE]
    assert replay(STORY, events).phase is Phase.QUESTION
    with pytest.raises(Refused, match="out_of_order"):
        replay(STORY, [*events, Advanced(on=MONDAY)])
    run = replay(STORY, [*events, Chosen(path=1), Advanced(on=MONDAY)])
    assert run.scene == "pond"


def test_at_home_nobody_chooses_before_the_vote():
    closes = datetime(2026, 9, 15, 2, tzinfo=UTC)
    with pytest.raises(Refused):
        replay(STORY, [AT_HOME, Chosen(path=0)])
    few = VoteClosed(outcome=of_ballots((2, 1), 5))
    opened = VoteOpened(closes_at=closes, quorum=5)
    run = replay(STORY, [AT_HOME, opened, few, Chosen(path=0)])
    assert (run.phase, run.path, run.outcome.counts) == (Phase.CHOSEN, 0, None)


def test_a_pause_holds_everything_but_going_on_and_ending():
    held = replay(STORY, [IN_CLASS, Paused()])
    for event in (VoteOpened(), Chosen(path=0), Paused()):
        with pytest.raises(Refused):
            apply(STORY, held, event)
    assert apply(STORY, held, Resumed(on=TUESDAY)).scene_on == TUESDAY
    assert apply(STORY, held, Ended()).phase is Phase.ENDED


def test_an_ending_has_no_vote():
    ways = [IN_CLASS, Chosen(path=0), Advanced(on=MONDAY), Chosen(path=1), Advanced(on=MONDAY)]
    run = replay(STORY, ways)
    assert run.scene == "end"
    with pytest.raises(Refused):
        apply(STORY, run, VoteOpened())
    with pytest.raises(Refused):
        apply(STORY, run, Chosen(path=0))


def test_a_closed_vote_is_taken_back_with_its_opening_for_its_ballots_are_gone():
    run = replay(STORY, [IN_CLASS, VoteOpened(), HANDS, Undone()])
    assert run == replay(STORY, [IN_CLASS])


def test_the_beginning_is_not_taken_back():
    assert replay(STORY, [IN_CLASS, Undone(), Undone()]) == replay(STORY, [IN_CLASS])
    assert not may_undo([IN_CLASS])
    assert replay(STORY, []) is None


def test_a_path_that_is_not_there_is_refused():
    with pytest.raises(Refused):
        replay(STORY, [IN_CLASS, Chosen(path=2)])


_CALLS = st.one_of(
    st.builds(VoteOpened),
    st.builds(
        VoteClosed,
        outcome=st.builds(of_hands, st.tuples(st.integers(0, 9), st.integers(0, 9))),
    ),
    st.builds(Chosen, path=st.integers(0, 2)),
    st.builds(Advanced, on=st.just(TUESDAY)),
    st.builds(Paused),
    st.builds(Resumed, on=st.just(TUESDAY)),
    st.builds(Undone),
)


def _legal(calls):
    """The journal that those calls leave which are in order."""
    journal = [IN_CLASS]
    for call in calls:
        try:
            replay(STORY, [*journal, call])
        except Refused:
            continue
        journal.append(call)
    return journal


@given(st.lists(_CALLS, max_size=30))
def test_whatever_is_called_the_way_walked_is_a_way_of_the_story(calls):
    journal = _legal(calls)
    run = replay(STORY, journal)
    here = STORY.start
    for step in run.walked:
        assert step.scene == here
        here = STORY.scene(here).paths[step.path].next
    assert run.scene == here


@given(st.lists(_CALLS, max_size=30))
def test_undoing_everything_leads_back_to_the_beginning(calls):
    journal = _legal(calls)
    undone = [*journal, *(Undone() for _ in journal)]
    assert replay(STORY, undone) == replay(STORY, [IN_CLASS])
    assert standing(undone) == (IN_CLASS,)


@given(st.lists(_CALLS, max_size=20))
def test_a_state_that_did_not_change_says_nothing(calls):
    run = replay(STORY, _legal(calls))
    assert announce(run, run) == ()


def test_what_a_vote_asks_of_the_world():
    told = replay(STORY, [IN_CLASS])
    voting = apply(STORY, told, VoteOpened())
    chosen = apply(STORY, voting, HANDS)
    gone_on = apply(STORY, chosen, Advanced(on=MONDAY))
    assert announce(None, told) == (Effect.SHOW_SCENE,)
    assert announce(told, voting) == (Effect.COLLECT,)
    assert announce(voting, chosen) == (Effect.DROP_BALLOTS, Effect.SHOW_OUTCOME)
    assert announce(chosen, gone_on) == (Effect.SHOW_SCENE,)
    assert announce(voting, told) == (Effect.DROP_BALLOTS,)
    assert announce(voting, apply(STORY, voting, TIE)) == (
        Effect.DROP_BALLOTS, Effect.ASK_DIRECTOR,
    )  # fmt: skip


def _moment(day, hour, *, meets=True):
    """A school day on which readings go up at eight and votes close at twenty, in UTC."""
    at = datetime(2026, 9, day, hour, tzinfo=UTC)
    return Moment(
        now=at, today=at.date(), meets=meets, due=at.replace(hour=8), closes_at=at.replace(hour=20)
    )  # fmt: skip


def _at_home(moments, counts=(7, 5)):
    journal = [AT_HOME]
    for moment in moments:
        while True:
            event = by_itself(STORY, replay(STORY, journal), moment, counts)
            if event is None:
                break
            journal.append(event)
    return replay(STORY, journal)


def test_at_home_a_scene_a_day_goes_up_and_its_vote_closes():
    assert _at_home([_moment(14, 7)]).phase is Phase.TELLING
    assert _at_home([_moment(14, 9)]).phase is Phase.VOTING
    assert _at_home([_moment(14, 9), _moment(14, 21)]).phase is Phase.CHOSEN
    next_day = _at_home([_moment(14, 9), _moment(14, 21), _moment(15, 9)])
    assert (next_day.scene, next_day.phase) == ("loft", Phase.VOTING)


def test_a_laptop_that_slept_closes_the_vote_late_and_goes_on_with_the_next_day():
    run = _at_home([_moment(14, 9), _moment(16, 9)])
    assert (run.scene, run.scene_on) == ("loft", date(2026, 9, 16))


def test_a_day_without_a_meeting_brings_no_scene():
    assert _at_home([_moment(14, 9), _moment(14, 21), _moment(15, 9, meets=False)]).scene == "yard"


def test_too_few_ballots_wait_for_the_director_and_nothing_goes_on():
    journal = [replace(AT_HOME, quorum=10)]
    for moment in (_moment(14, 9), _moment(14, 21)):
        journal.append(by_itself(STORY, replay(STORY, journal), moment, (2, 1)))
    assert replay(STORY, journal).phase is Phase.QUESTION
    assert by_itself(STORY, replay(STORY, journal), _moment(15, 9), (0, 0)) is None


def test_the_last_scene_stays_up_for_its_day():
    counts = (1, 7)
    days = [_moment(14, 9), _moment(14, 21), _moment(15, 9), _moment(15, 21)]
    last = replay(STORY, [AT_HOME, VoteOpened(), VoteClosed(outcome=of_hands((0, 9))),
                          Advanced(on=MONDAY), VoteOpened(),
                          VoteClosed(outcome=of_hands((9, 0))), Advanced(on=TUESDAY)])  # fmt: skip
    assert STORY.scene(last.scene).ending
    assert by_itself(STORY, last, _moment(15, 21), counts) is None
    assert by_itself(STORY, last, _moment(16, 7), counts) == Ended()
    assert _at_home(days, counts).scene == "pond"


def test_a_vote_closes_in_a_pause_too_and_nothing_else_goes_on():
    journal = [AT_HOME, VoteOpened(closes_at=_moment(14, 20).closes_at), Paused()]
    run = replay(STORY, journal)
    assert by_itself(STORY, run, _moment(14, 19), (7, 5)) is None
    closed = by_itself(STORY, run, _moment(14, 21), (7, 5))
    held = apply(STORY, run, closed)
    assert (held.phase, held.paused) == (Phase.CHOSEN, True)
    assert by_itself(STORY, held, _moment(15, 9), (0, 0)) is None


def test_in_class_nothing_goes_by_itself():
    run = replay(STORY, [IN_CLASS, VoteOpened()])
    assert by_itself(STORY, run, _moment(20, 23), (9, 0)) is None
