"""Move numbers until drawn lines have each trait as often as tunes have it.

Numbers that foresee the next note of a tune do not make lines like tunes: sharpened, cut by rules
and multiplied with one another, they give too many steps and too much do. So lines are drawn, their
traits counted beside those of training windows, and each number moved by the logarithm of the
ratio, several times. How much of that way is taken in the end depends on how often the tunes have
the trait: what few windows have is left nearly as it was fitted to all tunes. Echoes stay as they
are fitted: where they were moved, three lines in a thousand had twelve notes in common with a
training tune.

Tunes go more by habit in some measures of a phrase than in others. How surprising each measure is
to the fitted line says how much the likely is to be preferred there.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from bot.music.patterns import PHRASE, Role, role_of
from bot.music.rhythm import Metre
from bot.music.traits import TRAITS
from tests.fit import lean_fit, pitch_fit
from tests.fit.broad import teaching_level
from tests.fit.curve_fit import traits as curve_traits
from tests.fit.logistic import Floats
from tests.fit.melody import Melody
from tests.fit.pitch_fit import STEPS
from tests.fit.rhythm_fit import RhythmData

STEP_SIZES = (0.35, 0.35, 0.3, 0.3, 0.3, 0.25, 0.25, 0.2, 0.2, 0.15)  # a round each
_SELDOM = 80.0  # a trait that tunes have so often is moved half the way
_ECHO = " again, "  # in the names of traits that a tone or a move comes again
_PRIOR, _PRIOR_RHYTHM = 10.0, 1.0  # times that a trait is thought to be there besides, in both
_CURVE_PART = 0.75  # of its way
_MOST = 0.5  # a round moves the curve no further, in spreads
_BARS = 8
_LEAST_BEND = -0.03  # the middle stays a little more welcome: else a high line would seek low tones


@dataclass(frozen=True, slots=True, kw_only=True)
class Numbers:
    """What is moved: traits of ways on, leanings, measures, and the curve (phrase, measure, 3).

    `sharpness` is for each measure of a phrase.
    """

    line: Mapping[str, float]
    lean: Mapping[str, float]
    measure: Mapping[str, float]
    curve: Floats
    sharpness: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Moments:
    """How often some melodies of eight measures have each trait, a note or a measure.

    `surprise` is that of each measure of a phrase, in bits a note.
    """

    line: Mapping[str, float]
    lean: Mapping[str, float]
    measure: Mapping[str, float]
    curve: Floats
    spread: Floats
    surprise: Floats
    size: tuple[int, int, int]  # notes with a way on, notes that can lean, measures


class Counting:
    """Counts traits; builds the table of measures once. What surprises, does so by `line`."""

    def __init__(self, line: Mapping[str, float]) -> None:
        self._surprise = -np.log2(pitch_fit.chances(line))
        self._ways = pitch_fit.stacked(TRAITS)
        level, none = teaching_level("p15", "r16"), Counter[tuple[tuple[float, float], ...]]()
        data = {role: RhythmData(level, Metre(), role, none) for role in Role}
        self._measures = {
            role: dict(zip(reversed(each.shapes), reversed(each.traits), strict=True))
            for role, each in data.items()
        }

    def moments(self, melodies: Sequence[Melody]) -> Moments:
        """The moments of melodies of eight measures of 4/4."""
        ways = pitch_fit.counts(melodies).reshape(-1, len(STEPS))
        line = np.einsum("ct,ctf->f", ways, self._ways)
        lean, notes = _leanings(melodies)
        measure: Counter[str] = Counter()
        for melody in melodies:
            for bar, row in enumerate(melody.bars()):
                shape = tuple((float(tick), float(length)) for tick, length, _ in row)
                measure.update(self._measures[role_of(bar, _BARS)].get(shape, {}))
        curve, spread = _curve(melodies)
        return Moments(
            line=dict(zip(TRAITS, line.tolist(), strict=True)), lean=lean, measure=measure,
            curve=curve, spread=spread, surprise=self._surprises(melodies),
            size=(int(ways.sum()), notes, _BARS * len(melodies)),
        )  # fmt: skip

    def _surprises(self, melodies: Iterable[Melody]) -> Floats:
        rows: list[list[float]] = [[] for _ in range(PHRASE)]
        for melody in melodies:
            bars = [bar for bar, *_ in melody.places()]
            # Neighbours within the compass: places leaves out what lies beyond it.
            for bar, place in zip(bars[1:], pitch_fit.places(melody), strict=True):
                rows[bar % PHRASE].append(float(self._surprise[place]))
        return np.array([np.mean(row) for row in rows])


def _leanings(melodies: Iterable[Melody]) -> tuple[Counter[str], int]:
    found: Counter[str] = Counter()
    notes = 0
    for melody in melodies:
        for traits, step in zip(lean_fit.traits_of(melody), melody.steps[1:], strict=False):
            notes += 1
            found.update({name for name, to in traits if to == step})
    return found, notes


def _curve(melodies: Iterable[Melody]) -> tuple[Floats, Floats]:
    """Mean and spread in each measure of what the curve weighs; no first or last note."""
    design = curve_traits().T
    rows: list[list[Floats]] = [[] for _ in range(_BARS)]
    for melody in melodies:
        for bar, _, _, step in list(melody.places())[1:-1]:
            if step in STEPS:
                rows[bar].append(design[step - STEPS[0]])
    return np.array([np.mean(row, axis=0) for row in rows]), np.array(
        [np.std(row, axis=0) for row in rows]
    )


def moved(numbers: Numbers, real: Moments, made: Moments, size: float) -> Numbers:
    """The numbers a step nearer to where lines are as tunes are."""

    def nearer(kind: str, at: int) -> dict[str, float]:
        seen: Mapping[str, float] = getattr(real, kind)
        drawn: Mapping[str, float] = getattr(made, kind)
        share = real.size[at] / made.size[at]
        own: Mapping[str, float] = getattr(numbers, kind)
        prior = _PRIOR_RHYTHM if kind == "measure" else _PRIOR
        return {
            name: value
            + size * float(np.log((seen.get(name, 0) + prior)
                                  / (drawn.get(name, 0) * share + prior)))
            for name, value in own.items()
        }  # fmt: skip

    off = np.clip((real.curve - made.curve) / real.spread**2, -_MOST, _MOST)
    curve = numbers.curve.copy()
    curve[1:] += size * off.reshape(2, _BARS // 2, -1)
    more = made.surprise - real.surprise
    return Numbers(
        line=nearer("line", 0), lean=nearer("lean", 1), measure=nearer("measure", 2), curve=curve,
        sharpness=numbers.sharpness * np.exp(size * (more - more.mean())),
    )  # fmt: skip


def off(real: Moments, made: Moments) -> float:
    """How far apart, on the mean, the logarithms of how often tunes and lines take a way on are."""
    share = real.size[0] / made.size[0]
    return float(
        np.mean(
            [
                abs(np.log((often + _PRIOR) / (made.line[name] * share + _PRIOR)))
                for name, often in real.line.items()
            ]
        )
    )


def trusted(fitted: Numbers, moved_to: Numbers, real: Moments) -> Numbers:
    """Each number as far moved as tunes have its trait often; rhythm and sharpness the whole way.

    Every window has plenty of measures, and the curve has but a few numbers.
    """

    def part(kind: str) -> dict[str, float]:
        own: Mapping[str, float] = getattr(fitted, kind)
        to: Mapping[str, float] = getattr(moved_to, kind)
        seen: Mapping[str, float] = getattr(real, kind)
        often = {name: 0.0 if _ECHO in name else seen.get(name, 0.0) for name in own}
        return {
            name: round(value + often[name] / (often[name] + _SELDOM) * (to[name] - value), 2)
            for name, value in own.items()
        }

    curve = np.round(fitted.curve + _CURVE_PART * (moved_to.curve - fitted.curve), 2)
    curve[..., 1] = np.minimum(curve[..., 1], _LEAST_BEND)
    return Numbers(
        line=part("line"),
        lean=part("lean"),
        measure={name: round(value, 2) for name, value in moved_to.measure.items()},
        curve=curve,
        sharpness=np.round(moved_to.sharpness, 2),
    )
