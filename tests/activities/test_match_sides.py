"""Two sides from heads alone: balanced in every part, fresh for every match, nobody named."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.activities.match_rules import Rules, Side, Stand
from bot.activities.match_sides import MOST_HEADS, MOST_ROWS, Heads, draw_sides
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


standing = st.lists(
    st.lists(st.integers(0, 12), min_size=1, max_size=5), min_size=1, max_size=4
).filter(lambda parts: sum(map(sum, parts)) > 1)


@given(standing, st.sampled_from(Stand), st.integers(0, 2**63 - 1))
def test_rows_of_a_part_are_balanced_each_and_the_part_as_a_whole(parts, stand, seed):
    heads = [Heads.in_rows(f"Part {number}", rows) for number, rows in enumerate(parts)]
    sides = draw_sides(heads, Rules(stand=stand), seed)
    for part, rows in zip(heads, parts, strict=True):
        splits = [split for split in sides.parts if split.label == part.label]
        assert [split.row for split in splits] == (
            list(range(1, len(rows) + 1)) if len(rows) > 1 else [0]
        )
        for split, count in zip(splits, rows, strict=True):
            assert sorted(split.left + split.right) == list(range(1, count + 1))
            assert abs(len(split.left) - len(split.right)) <= 1
        left, right = (sum(len(getattr(s, side)) for s in splits) for side in ("left", "right"))
        assert abs(left - right) <= 1
    assert abs(sides.size(Side.LEFT) - sides.size(Side.RIGHT)) <= 1


@given(st.integers(2, 40), st.integers(0, 999))
def test_where_neighbours_stay_together_one_side_of_a_row_is_unbroken(count, seed):
    (split,) = draw_sides(heads_of([count]), Rules(stand=Stand.TOGETHER), seed).parts
    breaks = [
        sum(after - before > 1 for before, after in pairwise(side))
        for side in (split.left, split.right)
    ]
    assert sorted(breaks) in ([0, 0], [0, 1])


def test_neighbours_are_cut_anew_for_every_match_and_everybody_is_on_each_side_about_as_often():
    draws = [
        draw_sides(heads_of([9]), Rules(stand=Stand.TOGETHER), seed).parts[0] for seed in range(600)
    ]
    # Nine places to begin, and four or five singers from there.
    assert len({split.left for split in draws}) == 18
    for number in range(1, 10):
        # Four standard deviations of 600 tosses of a coin.
        assert abs(sum(number in split.left for split in draws) - 300) < 49


def test_sides_of_a_match_from_before_rows_are_drawn_again_as_they_were():
    # Kept matches hold heads and a seed alone.
    sides = draw_sides([Heads(label="I", count=5), Heads(label="II", count=4)], RULES, 11)
    assert [(part.left, part.right) for part in sides.parts] == [
        ((1, 3), (2, 4, 5)),
        ((1, 4), (2, 3)),
    ]


@given(parts, st.integers(0, 999))
def test_rows_are_as_many_on_both_sides_and_never_too_large(counts, seed):
    sides = draw_sides(heads_of(counts), RULES, seed)
    for side in Side:
        sizes = sides.group_sizes(side)
        assert len(sizes) == sides.groups
        assert sum(sizes) == sides.size(side)
        assert max(sizes) <= 4
        assert max(sizes) - min(sizes) <= 1
    if sum(counts) >= 18:
        assert min(sides.group_sizes(Side.LEFT)) >= 3


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


@pytest.mark.parametrize("rows", [[1] * (MOST_ROWS + 1), [3, -1], [MOST_HEADS, 1]])
def test_too_many_rows_or_too_large_ones_are_refused(rows):
    with pytest.raises(Refused, match=r"match\.heads"):
        draw_sides([Heads.in_rows("I", rows)], RULES, 1)


@pytest.mark.parametrize("counts", [[1], [0, 0], [MOST_HEADS + 1], [-1, 4]])
def test_too_few_or_too_many_are_refused(counts):
    with pytest.raises(Refused, match=r"match\.heads"):
        draw_sides(heads_of(counts), RULES, 1)
