"""Two sides from heads alone: balanced in every part, fresh for every match, nobody named."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.activities.match_rules import Rules, Side
from bot.activities.match_sides import MOST_HEADS, Heads, draw_sides
from bot.errors import Refused

RULES = Rules()
parts = st.lists(st.integers(0, 40), min_size=1, max_size=3).filter(lambda counts: sum(counts) > 1)


def heads_of(counts):
    return [Heads(label=f"Part {number}", count=count) for number, count in enumerate(counts)]


@given(parts, st.integers(0, 2**63 - 1))
def test_the_sides_differ_by_one_at_most_in_every_part_and_as_a_whole(counts, seed):
    sides = draw_sides(heads_of(counts), RULES, seed)
    for part, count in zip(sides.parts, counts, strict=True):
        assert sorted(part.left + part.right) == list(range(1, count + 1))
        assert abs(len(part.left) - len(part.right)) <= 1
    assert abs(sides.size(Side.LEFT) - sides.size(Side.RIGHT)) <= 1


@given(parts, st.integers(0, 999))
def test_rows_are_as_many_on_both_sides_and_never_too_large(counts, seed):
    sides = draw_sides(heads_of(counts), RULES, seed)
    for side in Side:
        sizes = sides.row_sizes(side)
        assert len(sizes) == sides.rows
        assert sum(sizes) == sides.size(side)
        assert max(sizes) <= 4
        assert max(sizes) - min(sizes) <= 1
    if sum(counts) >= 18:
        assert min(sides.row_sizes(Side.LEFT)) >= 3


def test_the_same_seed_draws_the_same_sides_and_another_draws_others():
    heads = heads_of([14, 9, 7])
    assert draw_sides(heads, RULES, 5) == draw_sides(heads, RULES, 5)
    assert len({draw_sides(heads, RULES, seed).parts for seed in range(20)}) == 20


def test_everybody_begins_and_stands_on_each_side_about_as_often():
    draws = [draw_sides(heads_of([9, 8]), RULES, seed) for seed in range(400)]
    begun = sum(sides.begins is Side.LEFT for sides in draws)
    first_left = sum(1 in sides.parts[0].left for sides in draws)
    # Four standard deviations of 400 tosses of a coin.
    assert abs(begun - 200) < 40
    assert abs(first_left - 200) < 40


@pytest.mark.parametrize("counts", [[1], [0, 0], [MOST_HEADS + 1], [-1, 4]])
def test_too_few_or_too_many_are_refused(counts):
    with pytest.raises(Refused, match=r"match\.heads"):
        draw_sides(heads_of(counts), RULES, 1)
