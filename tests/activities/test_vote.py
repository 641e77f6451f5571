"""What is left of a vote: a winner, and no count that points at a few singers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.activities.vote import COUNTS_FROM, MARGIN_FROM, Margin, of_ballots, of_hands

_COUNTS = st.lists(st.integers(0, 30), min_size=2, max_size=3)


@given(_COUNTS)
def test_hands_that_all_saw_are_told_in_full(counts):
    outcome = of_hands(counts)
    assert outcome.counts == tuple(counts)
    ahead = [path for path, count in enumerate(counts) if count == max(counts) > 0]
    assert outcome.winner == (ahead[0] if len(ahead) == 1 else None)


@given(_COUNTS, st.integers(0, 12))
def test_few_ballots_are_never_told_in_numbers(counts, quorum):
    outcome = of_ballots(counts, quorum)
    total = sum(counts)
    assert (outcome.counts is None) == (total < COUNTS_FROM)
    assert outcome.margin is None or MARGIN_FROM <= total < COUNTS_FROM
    if outcome.winner is not None:
        assert total >= quorum
        assert all(
            counts[outcome.winner] > count
            for path, count in enumerate(counts)
            if path != outcome.winner
        )


@pytest.mark.parametrize(
    ("counts", "margin"), [((4, 3), Margin.CLOSE), ((5, 3), Margin.CLEAR), ((3, 2, 3), None)]
)
def test_with_five_to_nine_ballots_the_margin_is_told_in_a_word(counts, margin):
    assert of_ballots(counts, 1).margin is margin


def test_fewer_ballots_than_the_quorum_settle_nothing():
    assert of_ballots((11, 1), 13).winner is None
    assert of_ballots((11, 2), 13).winner == 0
