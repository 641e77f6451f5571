"""Lines come with the probability that the weights say, and after some were read, still do."""

from collections import Counter
from dataclasses import replace
from functools import cache
from math import fsum
from random import Random

import pytest

from bot.music.catalogue import Catalogue
from bot.music.composer import Composer
from bot.music.pitch import Key
from tests.music.law import chi_square, law, variance
from tests.music.levels import TWO_FOUR, cut, level, tiny

_KEY = Key.parse("F")
# The 0.9999 quantile of a chi-square variable over its degrees of freedom, by Wilson and Hilferty:
# a right composer fails one run in ten thousand on either side, and the seeds are fixed. On levels
# of so few lines (32 to 189) the figure itself spreads by a tenth to a quarter; narrower is asked
# below, of levels with tens of thousands.
_QUANTILE = 3.719


def _limit(freedom: int, quantile: float = _QUANTILE) -> float:
    return (1 - 2 / (9 * freedom) + quantile * (2 / (9 * freedom)) ** 0.5) ** 3


@pytest.mark.parametrize("name", ["steps", "two phrases", "both new", "held"])
def test_the_law_covers_every_line_and_sums_to_one(name):
    full = tiny(name)
    composer = Composer(full, full.tones)

    shares = law(composer)

    assert fsum(shares.values()) == pytest.approx(1, abs=1e-12)
    assert len(shares) == Catalogue(composer, TWO_FOUR, full.measures[0]).size
    assert min(shares.values()) > 0


@pytest.mark.parametrize("draws", [6_000, pytest.param(200_000, marks=pytest.mark.long)])
@pytest.mark.parametrize("name", ["steps", "two phrases", "held"])
def test_draws_follow_the_law(name, draws):
    full = tiny(name)
    composer = Composer(full, full.tones)

    drawn = Counter(
        composer.draw(Random(seed)).exercise(_KEY, 4).fingerprint() for seed in range(draws)
    )

    statistic, freedom = chi_square(drawn, law(composer))
    assert _limit(freedom, -_QUANTILE) < statistic / freedom < _limit(freedom)


def _fine(name):
    """Levels of more than thirty thousand lines: a shipped step, and small ones of two others."""
    match name:
        case "p01 r02":
            return level("p01", "r02")
        case "p01 r01":
            full = level("p01", "r01")
            return replace(full, rules=replace(full.rules, equal_notes=2))
        case "p01 r04":
            return cut(level("p01", "r04"), "q", "h", "e e")
    raise ValueError(name)


@pytest.mark.long
def test_in_two_hundred_thousand_draws_the_statistic_is_within_two_hundredths_of_its_mean():
    """Over 30,000 degrees of freedom, so that its own standard deviation is below a hundredth."""
    draws, least = 200_000, 1.0
    statistic, freedom, spread = 0.0, 0, 0.0
    for name in ("p01 r02", "p01 r01", "p01 r04"):
        full = _fine(name)
        composer = Composer(full, full.tones)
        shares = law(composer)
        composer.lines = cache(composer.lines)  # those over one rhythm are the same every time
        random = Random(name)  # chance of its own for each, or their statistics were no three
        drawn = Counter(composer.draw(random).exercise(_KEY, 4).fingerprint() for _ in range(draws))
        one, more = chi_square(drawn, shares, least)
        print(name, len(shares), one / more, more)
        statistic, freedom = statistic + one, freedom + more
        spread += variance(draws, shares, least)
    assert spread**0.5 / freedom < 0.01
    assert 0.98 < statistic / freedom < 1.02


def test_what_is_unread_keeps_its_proportions():
    full = tiny("steps")
    composer = Composer(full, full.tones)
    catalogue = Catalogue(composer, TWO_FOUR, 4)
    read = [catalogue.line(n).exercise(_KEY, 4) for n in range(0, catalogue.size, 2)]
    hidden = {exercise.fingerprint() for exercise in read}

    drawn = Counter(
        composer.draw(Random(seed), seen=read).exercise(_KEY, 4).fingerprint()
        for seed in range(1_500)
    )

    unread = {line: share for line, share in law(composer).items() if line not in hidden}
    statistic, freedom = chi_square(drawn, unread)
    assert not hidden & set(drawn)
    assert statistic / freedom < _limit(freedom)
