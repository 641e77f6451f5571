"""The exact probability of every line of a small level, and how well draws fit it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from itertools import product
from math import fsum

from bot.music.composer import Composer, Line
from bot.music.lines import Label, Lines
from bot.music.pitch import Key

_LEAST = 5.0  # expected draws in a bin; rarer lines share one


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
            for labels, part in _all_lines(lines, (), lines.root):
                tones = [composer.tones[tone] for tone in lines.tones(labels)]
                line = Line(frame.metre, frame.line(path), tones)
                name = line.exercise(Key.parse("F"), 4).fingerprint()
                shares[name].append(share * part)
    return {name: fsum(parts) for name, parts in shares.items()}


def _all_lines(
    lines: Lines, labels: tuple[Label, ...], state: tuple[object, ...]
) -> Iterator[tuple[tuple[Label, ...], float]]:
    choices = lines.choices(state)
    if not choices:
        yield labels, 1.0
    whole = fsum(choice.mass for choice in choices)
    for choice in choices:
        for found, part in _all_lines(lines, (*labels, choice.label), choice.state):
            yield found, part * choice.mass / whole


def chi_square(drawn: Counter[str], shares: Mapping[str, float]) -> tuple[float, int]:
    """The statistic and its degrees of freedom; lines too rare for a bin are put together."""
    draws, whole = drawn.total(), fsum(shares.values())
    bins, rare_seen, rare_expected = [], 0, 0.0
    for line, share in shares.items():
        expected = draws * share / whole
        if expected < _LEAST:
            rare_seen, rare_expected = rare_seen + drawn[line], rare_expected + expected
        else:
            bins.append((drawn[line], expected))
    if rare_expected >= _LEAST:
        bins.append((rare_seen, rare_expected))
    statistic = fsum((seen - expected) ** 2 / expected for seen, expected in bins)
    return statistic, len(bins) - 1
