"""Turns of a match one by one: throws, claims, the joint reading, reminders, the bell."""

from collections import Counter
from dataclasses import replace

import pytest

from bot.activities.match import (
    apply,
    begin,
    groups_owed,
    groups_throwing,
    next_group,
    replay,
    throwers,
)
from bot.activities.match_board import offers, seconds
from bot.activities.match_call import Call, Say
from bot.activities.match_rules import Ending, Side
from bot.activities.match_state import LineShape, Match, Setup, Source, Stop
from bot.errors import Refused
from tests.activities.match_play import GOOD, PLAIN, a_setup, calls


def test_a_turn_goes_from_the_line_to_the_throw():
    setup = a_setup()
    first = setup.sides.begins
    match = replay(setup, calls(*GOOD))
    assert (match.stop, match.side, match.score(first)) == (Stop.TOSS, first, 3)
    match = replay(setup, calls(*GOOD, "thrown-2"))
    assert (match.stop, match.side) == (Stop.READY, first.other)
    assert (match.score(first), match.score(first.other)) == (5, 0)


def test_after_a_reading_that_was_not_good_nobody_throws_and_the_rows_catch_up():
    setup = a_setup()  # twelve heads: two groups a side, two turns
    first = setup.sides.begins
    match = replay(setup, calls(*PLAIN, *PLAIN, *GOOD))
    assert groups_throwing(match, first) == (1, 2)
    assert throwers(match) == 6
    assert offers(match)[-1] == Call(say=Say.THROWN, number=3)


def test_it_is_known_which_rows_have_yet_to_throw():
    setup = a_setup(heads=(16,), turns=2)  # two groups a side
    first = setup.sides.begins
    match = begin(setup)
    assert [groups_owed(match, side) for side in Side] == [2, 2]
    match = replay(setup, calls(*GOOD, "thrown-0"))
    assert (groups_owed(match, first), groups_owed(match, first.other)) == (1, 2)
    assert next_group(match, first) == 2


def test_of_a_row_of_four_the_best_three_count():
    setup = a_setup(heads=(8,), turns=1)
    first = setup.sides.begins
    assert setup.sides.group_sizes(first) == (4,)
    match = replay(setup, calls(*GOOD, "thrown-4"))
    assert match.score(first) == 3 + 3
    with pytest.raises(Refused):
        replay(setup, calls(*GOOD, "thrown-5"))


def test_a_right_claim_is_a_point_to_read_for():
    setup = a_setup()
    other = setup.sides.begins.other
    claimed = (*GOOD[:-1], "claim", "measure-3", "beat-2")
    match = replay(setup, calls(*claimed))
    assert (match.stop, match.place) == (Stop.CLAIM, (3, 2))
    assert replay(setup, calls(*claimed, "right")).score(other) == 0
    assert replay(setup, calls(*claimed, "right", "answer-1")).score(other) == 1
    assert replay(setup, calls(*claimed, "right", "answer-0")).score(other) == 0
    assert replay(setup, calls(*claimed, "wrong")).score(other) == 0


@pytest.mark.parametrize("beyond", ["measure-0", "measure-5"])
def test_a_claim_names_a_place_that_the_line_has(beyond):
    with pytest.raises(Refused):
        replay(a_setup(), calls(*GOOD[:-1], "claim", beyond))


def test_the_joint_reading_counts_for_both():
    setup = a_setup(turns=1, heads=(6,))
    match = replay(setup, calls(*PLAIN, *PLAIN, "study", "read", "phrase-2", "phrase-2"))
    assert match.side is None
    assert [match.score(side) for side in Side] == [5, 5]
    # Nobody has thrown so far: now all do, for both sides.
    assert [groups_throwing(match, side) for side in Side] == [(1,), (1,)]
    done = apply(match, Call.parse("thrown-3"))
    assert (done.stop, [done.score(side) for side in Side]) == (Stop.DONE, [8, 8])


def test_a_reminder_comes_before_a_rest_and_the_rest_costs_nobody():
    setup = a_setup()
    with pytest.raises(Refused, match=r"match\.remind_first"):
        replay(setup, calls("study", "rest"))
    match = replay(setup, calls("study", "remind", "rest"))
    assert match.resting
    assert match.gains == ()
    assert offers(match) == (Call(say=Say.REST),)
    again = replay(setup, calls("study", "remind", "rest", "rest"))
    assert (again.resting, again.stop) == (False, Stop.STUDY)
    with pytest.raises(Refused, match=r"match\.remind_first"):
        apply(again, Call.parse("rest"))


def test_the_bell_makes_this_pair_of_turns_the_last():
    setup = a_setup(turns=4)
    match = replay(setup, calls(*PLAIN, "last"))
    assert [match.turns_left(side) for side in Side] == (
        [0, 1] if setup.sides.begins is Side.LEFT else [1, 0]
    )
    match = replay(setup, calls(*PLAIN, "last", *PLAIN))
    assert match.joint
    assert match.line == 8
    assert next_group(match, Side.LEFT) == 1


def test_a_match_may_end_with_its_last_turn():
    setup = a_setup(turns=1, heads=(6,), ending=Ending.LAST_TURN)
    match = replay(setup, calls(*GOOD, "thrown-1", *GOOD, "thrown-2"))
    assert match.stop is Stop.DONE
    assert Counter(gain.source for gain in match.gains)[Source.THROW] == 2


def test_the_clock_follows_the_length_of_the_line():
    setup = a_setup()
    match = begin(setup)
    assert seconds(match) == 20
    eight = tuple(LineShape(measures=8, beats=3) for _ in setup.lines)
    assert seconds(replace(match, setup=replace(setup, lines=eight))) == 30


def test_a_match_is_told_by_sides_alone():
    """Whatever a journal can say: a kind of call and a number below a hundred."""
    assert set(Call.__slots__) == {"say", "number"}
    fields = set(Match.__slots__) | set(Setup.__slots__)
    assert not {name for name in fields if "seat" in name or "name" in name}


@pytest.mark.parametrize("call", ["study", "phrase-0", "thrown-12", "undo"])
def test_a_call_is_read_back_from_its_text(call):
    assert str(Call.parse(call)) == call


@pytest.mark.parametrize("text", ["", "phrase", "undo-1", "phrase-x", "thrown-100", "phrase--1"])
def test_what_is_no_call_is_none(text):
    with pytest.raises(ValueError):
        Call.parse(text)
