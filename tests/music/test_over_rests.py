"""Parallels that a rest hides are found, at their place; other motion is let be."""

from fractions import Fraction

import pytest

from bot.music.over_rests import parallels_over_rests
from bot.music.tonicsolfa import exercise_from_tonicsolfa


@pytest.mark.parametrize(
    ("upper", "lower", "found"),
    [
        ("|s : !l :- ||", "|d : !r :- ||", [Fraction(1, 2)]),  # two fifths, a rest between
        ("|s :l !s :- ||", "|d :r !m :- ||", [Fraction(1, 4)]),  # two fifths, one after the other
        ("|d' : !r' :- ||", "|d : !r :- ||", [Fraction(1, 2)]),  # octaves
        ("|s : !f :- ||", "|d : !r :- ||", []),  # against each other
        ("|s : !s :- ||", "|d : !d :- ||", []),  # nobody moves
        ("|m : !f :- ||", "|d : !r :- ||", []),  # thirds
    ],
)
def test_parallels_over_rests(upper, lower, found):
    both = exercise_from_tonicsolfa(f"KEY C. {upper}\nKEY C. {lower}")

    assert list(parallels_over_rests(both)) == found
