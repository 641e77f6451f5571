"""When the score goes up, and when what stands there is to be changed."""

import pytest

from bot.activities.match import replay
from bot.activities.match_call import Call
from bot.activities.match_card import changes, goes_up, told_by
from bot.activities.match_rules import CardWhen, Rules
from bot.activities.match_sides import Heads, draw_sides
from bot.activities.match_state import LineShape, Setup

TURN = ("study", "read", "phrase-2", "phrase-2", "on", "thrown-1")
JOINT = ("study", "read", "phrase-2", "phrase-1")
LINES = (LineShape(measures=4, beats=4),) * 3


def after(card, *texts):
    rules = Rules(card=card)
    sides = draw_sides([Heads(label="I", count=8)], rules, 1)
    setup = Setup(rules=rules, sides=sides, turns=1, lines=LINES)
    return replay(setup, [Call.parse(text) for text in texts])


@pytest.mark.parametrize(
    ("card", "ups"),
    [
        (CardWhen.NEVER, [False] * 4),
        (CardWhen.END, [False, False, False, True]),
        (CardWhen.TURNS, [False, True, True, True]),
    ],
)
def test_the_score_goes_up_when_the_house_wants_it(card, ups):
    calls = [(), TURN, TURN * 2, (*TURN * 2, *JOINT)]
    assert [goes_up(after(card, *each)) for each in calls] == ups
    # Never in the middle of a turn.
    assert not goes_up(after(card, *TURN, "study", "read", "phrase-2"))


def test_a_card_is_changed_from_turn_to_turn_and_not_by_every_call():
    one = after(CardWhen.TURNS, *TURN)
    told = told_by(one)
    assert not changes(one, told)
    assert not changes(after(CardWhen.TURNS, *TURN, "study", "read", "phrase-2"), told)
    assert changes(after(CardWhen.TURNS, *TURN * 2), told)
    # A throw that is taken back and called anew is another score after the same turn.
    assert changes(after(CardWhen.TURNS, *TURN, "undo", "thrown-3"), told)


@pytest.mark.parametrize("card", [CardWhen.END, CardWhen.TURNS])
def test_an_end_that_is_taken_back_is_told_at_once(card):
    whole = (*TURN * 2, *JOINT)
    told = told_by(after(card, *whole))
    undone = after(card, *whole, "undo")
    assert changes(undone, told)
    # Then it waits for the end, which may be another one.
    assert not changes(after(card, *whole, "undo", "undo"), told_by(undone))
    assert changes(after(card, *whole, "undo", "phrase-2"), told_by(undone))


def test_what_a_card_said_before_a_crash_is_not_known_and_so_it_is_said_again():
    assert changes(after(CardWhen.END, *TURN * 2, *JOINT), None)
