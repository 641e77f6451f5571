"""The match as its journal tells it: points, turns, groups, undo, and what is told once."""

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.activities.match import apply, begin, groups_throwing, replay
from bot.activities.match_board import Cue, announce, asides, offers
from bot.activities.match_call import Call, Say
from bot.activities.match_rules import Side
from bot.activities.match_state import Stop
from bot.errors import Refused
from tests.activities.match_play import in_force, played


@given(played())
def test_the_score_is_the_sum_of_the_calls(game):
    """Reckoned anew from the calls alone: who read, who claimed, what was thrown."""
    setup, journal, match = game
    expected, now = Counter(), begin(setup)
    for call in in_force(journal):
        both = list(Side) if now.side is None else [now.side]
        if call.say is Say.PHRASE:
            expected.update(dict.fromkeys(both, (0, 1, 2)[call.number]))
        elif call.say is Say.THROWN:
            expected.update({side: min(call.number, 3) for side in both})
        elif call.say is Say.ANSWER and call.number:
            expected.update({now.side.other: 1})
        now = apply(now, call)
    assert {side: match.score(side) for side in Side} == {side: expected[side] for side in Side}


@given(played())
def test_no_call_but_an_undo_ever_takes_a_point_away(game):
    setup, journal, _ = game
    for number in range(1, len(journal) + 1):
        before, after = replay(setup, journal[: number - 1]), replay(setup, journal[:number])
        if journal[number - 1].say is not Say.UNDO:
            assert all(after.score(side) >= before.score(side) for side in Side)


@given(played())
def test_turns_never_differ_by_more_than_one(game):
    setup, journal, match = game
    now, had = begin(setup), Counter()
    for call in in_force(journal):
        if call.say is Say.STUDY and now.side is not None:
            had[now.side] += 1
        now = apply(now, call)
        assert abs(had[Side.LEFT] - had[Side.RIGHT]) <= 1
    if match.stop is Stop.DONE:
        assert had[Side.LEFT] == had[Side.RIGHT] == match.pairs


@given(played(to_the_end=True))
def test_every_row_throws_as_often_as_every_other_by_the_end(game):
    setup, journal, match = game
    assert match.stop is Stop.DONE
    threw, now = Counter(), begin(setup)
    for call in in_force(journal):
        if call.say is Say.THROWN:
            for side in Side:
                threw.update((side, group) for group in groups_throwing(now, side))
        now = apply(now, call)
    times = {threw[side, group] for side in Side for group in range(1, setup.sides.groups + 1)}
    assert len(times) == 1
    assert times != {0}


@given(played())
def test_groups_go_in_order(game):
    setup, journal, _ = game
    now, order = begin(setup), {side: [] for side in Side}
    for call in in_force(journal):
        if call.say is Say.THROWN:
            for side in Side:
                order[side] += groups_throwing(now, side)
        now = apply(now, call)
    for groups in order.values():
        assert groups == [n % setup.sides.groups + 1 for n in range(len(groups))]


@given(played(), st.data())
def test_undo_gives_back_the_state_before_any_call(game, data):
    setup, journal, match = game
    choices = [*offers(match), *(call for call in asides(match) if call.say is not Say.UNDO)]
    if choices:
        one = data.draw(st.sampled_from(choices))
        assert replay(setup, [*journal, one, Call(say=Say.UNDO)]) == match


@given(played())
def test_every_call_can_be_undone_back_to_the_beginning(game):
    setup, journal, match = game
    undone = [*journal, *[Call(say=Say.UNDO)] * match.calls]
    assert replay(setup, undone) == begin(setup)
    with pytest.raises(Refused, match=r"match\.nothing"):
        replay(setup, [*undone, Call(say=Say.UNDO)])


@given(played())
def test_a_replay_tells_nothing_and_each_call_tells_of_each_thing_once(game):
    setup, journal, match = game
    assert announce(match, replay(setup, journal)) == ()
    for number in range(1, len(journal) + 1):
        before, after = replay(setup, journal[: number - 1]), replay(setup, journal[:number])
        told = announce(before, after)
        assert len({(each.cue, each.side) for each in told}) == len(told)
        if journal[number - 1].say is Say.UNDO:
            assert [each.cue for each in told] == [Cue.TAKEN_BACK]


@given(played())
def test_what_is_offered_is_taken_and_what_is_not_is_refused(game):
    setup, journal, match = game
    for call in (*offers(match), *asides(match)):
        replay(setup, [*journal, call])
    known = {call.say for call in (*offers(match), *asides(match))}
    for say in set(Say) - known - {Say.UNDO}:
        with pytest.raises(Refused):
            apply(match, Call(say=say, number=1))


@given(played())
def test_in_every_turn_music_brings_more_than_aim_can(game):
    setup, journal, _ = game
    now = begin(setup)
    for call in in_force(journal):
        before = now
        now = apply(now, call)
        if call.say is Say.THROWN:
            fresh = now.gains[len(before.gains) :]
            assert all(gain.points < setup.rules.most for gain in fresh)
