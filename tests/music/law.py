"""The exact probability of every line of a small level, and how well draws fit it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from itertools import product
from math import fsum

from bot.music.composer import Composer
from bot.music.line_draw import Line
from bot.music.lines import Label, Lines
from bot.music.pitch import Key

LEAST = 5.0  # expected draws in a bin; rarer lines share one


def law(composer: Composer) -> dict[str, float]:
    """Fingerprint -> probability, over all frames, rhythms and tones."""
    frames = [frame for frame in composer.frames(None, None) if frame.rhythms.total]
    whole = sum(frame.share for frame in frames)
    shares: defaultdict[str, list[float]] = defaultdict(list)
    for frame in frames:
        rhythms = frame.rhythms
        for path in product(*(range(len(letter)) for letter in rhythms.letters)):
            if not rhythms.holds(path):
                continue
            share = frame.share / whole * (rhythms.weight(path) / rhythms.total)
            lines = composer.lines(frame, path)
            for labels, part in all_lines(lines):
                tones = [composer.tones[tone] for tone in lines.tones(labels)]
                line = Line(frame.metre, frame.line(path), tones)
                name = line.exercise(Key.parse("F"), 4).fingerprint()
                shares[name].append(share * part)
    return {name: fsum(parts) for name, parts in shares.items()}


def all_lines(
    lines: Lines, labels: tuple[Label, ...] = (), state: tuple[object, ...] | None = None
) -> Iterator[tuple[tuple[Label, ...], float]]:
    """The labels of every line, with its share of all lines over its rhythm."""
    choices = lines.choices(lines.root if state is None else state)
    if not choices:
        yield labels, 1.0
    whole = fsum(mass for _, mass, _ in choices)
    for label, mass, after in choices:
        for found, part in all_lines(lines, (*labels, label), after):
            yield found, part * mass / whole


def chi_square(
    drawn: Counter[str], shares: Mapping[str, float], least: float = LEAST
) -> tuple[float, int]:
    """The statistic and its degrees of freedom; lines too rare for a bin are put together.

    `least` is how many draws of a bin are expected at least.
    """
    bins = _bins(drawn, shares, least)
    statistic = fsum((seen - expected) ** 2 / expected for seen, expected in bins)
    return statistic, len(bins) - 1


def variance(draws: int, shares: Mapping[str, float], least: float = LEAST) -> float:
    """The variance of the statistic of `chi_square` if draws follow the law, exactly.

    Its mean is the degrees of freedom, however few draws are expected in a bin.
    """
    expected = [each for _, each in _bins(Counter({"": draws}), shares, least)]
    size = len(expected)
    uneven = fsum(draws / each for each in expected) - size**2 - 2 * size + 2
    return 2 * (size - 1) + uneven / draws


def _bins(
    drawn: Counter[str], shares: Mapping[str, float], least: float
) -> list[tuple[int, float]]:
    """(draws seen, draws expected) for each line, and once for all that are too rare."""
    draws, whole = drawn.total(), fsum(shares.values())
    bins, rare_seen, rare_expected = [], 0, 0.0
    for line, share in shares.items():
        expected = draws * share / whole
        if expected < least:
            rare_seen, rare_expected = rare_seen + drawn[line], rare_expected + expected
        else:
            bins.append((drawn[line], expected))
    if rare_expected >= least:
        bins.append((rare_seen, rare_expected))
    return bins
