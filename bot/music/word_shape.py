"""In which metre and length words are sung, and why there may be none that takes them."""

from __future__ import annotations

from math import exp
from random import Random
from typing import NamedTuple

from bot.errors import NoExercise
from bot.music.offers import lengths_offered, metres_offered, pickup_of_level, shares
from bot.music.rhythm import Metre
from bot.music.word_ground import WordComposer
from bot.music.words import Stress, Words

_NOTES, _SPREAD = 0.8, 0.22  # notes a beat in a tune of the usual fullness
_THIN, _FULL = 0.45, 1.3  # notes a beat beyond which a shape is tried only where no other is left
_LEAST = 1e-9  # of a share


class Shape(NamedTuple):
    """In which metre and length words are sung, and whether they begin before the bar."""

    metre: Metre
    measures: int
    pickup: bool


_Offer = tuple[int, float, Shape]


def word_shape(
    composer: WordComposer,
    words: Words,
    metre: Metre | None,
    measures: int | None,
    random: Random,
    *,
    pickups: bool = True,
) -> Shape:
    """Metre, length and pickup: of those in which the words are bent least, one by its share.

    A pickup comes where the step has one and the words open unstressed, in a metre that may have
    one rather than in one that may not; without `pickups` never.
    """
    level = composer.level
    found: list[_Offer] = []
    ways = [(metres_offered(level, metre), True), (metres_offered(level, metre), False)]
    if metre is None:
        ways.append((list(level.metres), False))
    for offered, usual in ways:
        found = found or _shapes(composer, words, offered, measures, usual=usual, pickups=pickups)
    if not found:
        raise _no_rhythm(composer, words, metre, measures)
    least = min(bent for bent, *_ in found)
    best = [(shape, share) for bent, share, shape in found if bent == least]
    if _leads_in(words):
        best = [(shape, share) for shape, share in best if shape.pickup] or best
    aim = random.random() * sum(share for _, share in best)
    for shape, share in best:
        aim -= share
        if aim < 0.0:
            return shape
    return best[-1][0]


def _leads_in(words: Words) -> bool:
    """Whether the words open with one unstressed syllable: `a-maz-ing`, not `in the be-gin`."""
    first = [syllable.stress for syllable in words.lines[0]]
    return first[0] < Stress.FULL and first[1:2] == [Stress.FULL]


def _shapes(
    composer: WordComposer,
    words: Words,
    offered: list[tuple[Metre, int]],
    measures: int | None,
    *,
    usual: bool,
    pickups: bool,
) -> list[_Offer]:
    """How bent the words are in each shape that takes them, and its share.

    `usual` looks only at those that are neither thin nor crowded.
    """
    found = []
    for metre, often in shares(offered):
        for length, share in shares(lengths_offered(composer.level, measures)):
            full = len(words.syllables) / (length * metre.pulses)
            if usual and not _THIN <= full <= _FULL:
                continue
            welcome = max(exp(-(((full - _NOTES) / _SPREAD) ** 2)), _LEAST)
            may = pickups and pickup_of_level(composer.level, metre) is not None
            for pickup in (True, False) if may else (False,):
                best = composer.words_ground(metre, length, pickup=pickup).best()
                if best is not None:
                    shape = Shape(metre, length, pickup)
                    found.append((best.bent, often * share * welcome, shape))
                    break  # what opens unstressed has its pickup
    return found


def _no_rhythm(
    composer: WordComposer, words: Words, metre: Metre | None, measures: int | None
) -> NoExercise:
    """Why no rhythm of the step takes the words: too many, too few, or the word in the way."""
    level, count = composer.level, len(words.syllables)
    step = level.steps[1]
    lengths = [length for length, _ in lengths_offered(level, measures)]
    grounds = [
        composer.words_ground(each, length, pickup=False)
        for each, _ in metres_offered(level, metre)
        for length in lengths
    ]
    reach = [ground.reach() for ground in grounds]
    most, least = max(each.most for each in reach), min(each.least for each in reach)
    if count > most:
        return NoExercise(
            "refusal.words_long", syllables=count, most=most, measures=max(lengths), step=step
        )
    if count < least:
        return NoExercise(
            "refusal.words_short", syllables=count, least=least, measures=min(lengths), step=step
        )
    furthest = max(each.furthest for each in reach)
    stuck = words.syllables[min(furthest, count - 1)]
    line = next(
        n for n, end in enumerate(words.line_ends, start=1) if furthest < end or end == count
    )
    return NoExercise("refusal.words_rhythm", word=stuck.word, line=line, step=step)
