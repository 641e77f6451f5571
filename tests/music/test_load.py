"""How much a line asks: hard spots, and its place among lines of its own step."""

import pytest

from bot.music.load import hard_spots, load_of, percentile, yardstick
from bot.music.needs import needs
from bot.music.tonicsolfa import exercise_from_tonicsolfa
from tests.music.levels import steps_first


def line(text):
    return exercise_from_tonicsolfa(f"KEY C. {text} ||")


def test_the_new_weighs_more_than_the_old():
    plain = load_of(line("|d :r !m :r |m :r !d :-"), steps_first())
    with_fa = load_of(line("|d :r !m :f |m :r !d :-"), steps_first())
    with_skip = load_of(line("|d :f !m :r |m :r !d :-"), steps_first())
    assert plain < with_fa < with_skip


def test_the_length_of_a_line_does_not_make_it_harder():
    once = line("|d :r !m :f |m :r !d :-")
    twice = line("|d :r !m :f |m :r !d :- |d :r !m :f |m :r !d :-")
    assert load_of(once, steps_first()) == pytest.approx(load_of(twice, steps_first()), rel=0.02)


def test_what_no_step_brings_is_a_hard_spot():
    odd = line("|d :r !m :r |m :fi !s :m |r :d !r :r |d :- !- :-")
    spots = hard_spots(needs(odd, steps_first()), steps_first())
    assert (2, 2) in [(spot.measure, spot.beat) for spot in spots]
    assert spots[0].atoms[0].what == "fi"


def test_a_hard_spot_does_not_tell_of_quarters_and_do():
    tune = line("|d :r !m :f |m :r !t_ :d |d :f !m :r |d :- !- :-")
    told = {atom.what for spot in hard_spots(needs(tune, steps_first()), steps_first())
            for atom in spot.atoms}  # fmt: skip
    assert "fa" in told
    assert not told & {"q", "h", "do", "re", "mi"}


def test_an_even_line_has_no_hard_spot():
    even = line("|d :d !d :d |r :r !r :r |d :d !d :d")
    assert hard_spots(needs(even, steps_first()), steps_first()) == ()


def test_the_yardstick_is_always_the_same_and_sorted():
    loads = yardstick(steps_first(), ("p03", "r02"), 40)
    assert loads == sorted(loads) == yardstick(steps_first(), ("p03", "r02"), 40)
    assert len(loads) == 40


def test_lines_of_a_step_are_spread_over_its_percentiles():
    """Held against other lines of the same step, a step's lines are neither all easy nor hard."""
    loads = yardstick(steps_first(), ("p05", "r04"), 80)
    even, odd = loads[::2], loads[1::2]
    shares = [percentile(load, even) for load in odd]
    assert 35 <= sum(shares) / len(shares) <= 65


@pytest.mark.parametrize(
    ("load", "among", "share"),
    [(0.0, [1.0, 2.0], 0), (3.0, [1.0, 2.0], 100), (1.0, [1.0, 1.0], 50), (1.0, [], None)],
)
def test_a_percentile_counts_equal_lines_half(load, among, share):
    assert percentile(load, among) == share
