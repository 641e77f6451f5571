"""The match as its journal tells it: points, turns, rows, undo, and what is told once."""

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.activities.match import apply, begin, next_row, replay, rows_owed, rows_throwing, throwers
from bot.activities.match_board import Cue, announce, asides, offers, seconds
from bot.activities.match_call import Call, Say
from bot.activities.match_rules import Ending, Rules, Side
from bot.activities.match_sides import Heads, draw_sides
from bot.activities.match_state import LineShape, Match, Setup, Source, Stop
from bot.errors import Refused


def a_setup(*, turns=2, heads=(7, 5), seed=1, **changes):
    rules = replace(Rules(), turns=turns, **changes)
    sides = draw_sides(
        [Heads(label=f"Part {n}", count=c) for n, c in enumerate(heads)], rules, seed
    )
    lines = tuple(LineShape(measures=4, beats=4) for _ in range(2 * turns + 1))
    return Setup(rules=rules, sides=sides, turns=turns, lines=lines)


def calls(*texts):
    return [Call.parse(text) for text in texts]


GOOD = ("study", "read", "phrase-2", "phrase-1", "on")
PLAIN = ("study", "read", "phrase-1", "phrase-0", "on")

setups = st.builds(
    a_setup,
    turns=st.integers(1, 5),
    heads=st.lists(st.integers(2, 19), min_size=1, max_size=3).map(tuple),
    seed=st.integers(0, 99),
    claims=st.integers(0, 2),
    ending=st.sampled_from(Ending),
)


@st.composite
def played(draw, *, to_the_end=False):
    """A setup with a journal that the offers of every moment allow, undo among them."""
    setup = draw(setups)
    journal, states = [], [begin(setup)]
    # A match of five turns has some fifty calls; after thirty strange ones it only goes on.
    for number in range(400 if to_the_end else draw(st.integers(0, 50))):
        ahead = offers(states[-1])
        if not ahead:
            break
        beside = () if number > 30 else asides(states[-1])
        journal.append(draw(st.sampled_from((*ahead, *ahead, *ahead, *beside))))
        if journal[-1].say is Say.UNDO:
            states.pop()
        else:
            states.append(apply(states[-1], journal[-1]))
    assert replay(setup, journal) == states[-1]
    return setup, journal, states[-1]


def in_force(journal):
    kept = []
    for call in journal:
        if call.say is Say.UNDO:
            kept.pop()
        else:
            kept.append(call)
    return kept


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
                threw.update((side, row) for row in rows_throwing(now, side))
        now = apply(now, call)
    times = {threw[side, row] for side in Side for row in range(1, setup.sides.rows + 1)}
    assert len(times) == 1
    assert times != {0}


@given(played())
def test_rows_go_in_order(game):
    setup, journal, _ = game
    now, order = begin(setup), {side: [] for side in Side}
    for call in in_force(journal):
        if call.say is Say.THROWN:
            for side in Side:
                order[side] += rows_throwing(now, side)
        now = apply(now, call)
    for rows in order.values():
        assert rows == [n % setup.sides.rows + 1 for n in range(len(rows))]


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


def test_a_turn_goes_from_the_line_to_the_throw():
    setup = a_setup()
    first = setup.sides.begins
    match = replay(setup, calls(*GOOD))
    assert (match.stop, match.side, match.score(first)) == (Stop.TOSS, first, 3)
    match = replay(setup, calls(*GOOD, "thrown-2"))
    assert (match.stop, match.side) == (Stop.READY, first.other)
    assert (match.score(first), match.score(first.other)) == (5, 0)


def test_after_a_reading_that_was_not_good_nobody_throws_and_the_rows_catch_up():
    setup = a_setup()  # twelve heads: two rows a side, two turns
    first = setup.sides.begins
    match = replay(setup, calls(*PLAIN, *PLAIN, *GOOD))
    assert rows_throwing(match, first) == (1, 2)
    assert throwers(match) == 6
    assert offers(match)[-1] == Call(say=Say.THROWN, number=3)


def test_it_is_known_which_rows_have_yet_to_throw():
    setup = a_setup(heads=(16,), turns=2)  # two rows a side
    first = setup.sides.begins
    match = begin(setup)
    assert [rows_owed(match, side) for side in Side] == [2, 2]
    match = replay(setup, calls(*GOOD, "thrown-0"))
    assert (rows_owed(match, first), rows_owed(match, first.other)) == (1, 2)
    assert next_row(match, first) == 2


def test_of_a_row_of_four_the_best_three_count():
    setup = a_setup(heads=(8,), turns=1)
    first = setup.sides.begins
    assert setup.sides.row_sizes(first) == (4,)
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
    assert [rows_throwing(match, side) for side in Side] == [(1,), (1,)]
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
    assert next_row(match, Side.LEFT) == 1


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
