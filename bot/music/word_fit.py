"""How syllables stand in one measure of rhythm: what must not be, what is bent, what is welcome.

One note a syllable. A rest stands where singers may breathe, never inside a word. A line ends on a
note of a beat or more; behind it, in the same measure, only unstressed syllables that lead into the
next line. Stress is bent where a stressed syllable has a weaker place than an unstressed one beside
it, or a shorter note while that one is held: it is counted, and kept off wherever another rhythm
does better.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate
from math import exp
from typing import NamedTuple

from bot.music.patterns import PHRASE, Pattern, Struck, ticks
from bot.music.rhythm import Metre
from bot.music.words import Stress, Syllable, Words

_HALF = 48  # ticks
_NONE = Fraction(0)
_CLOSING = 0.5  # notes of a phrase's last measure, beside the others
_LEADING = 2  # syllables at most that lead into the next line
_SCALE = 10_000  # factors are whole numbers, so that sums over rhythms stay exact
# How welcome a stress (none, half, full) is on a place of strength 0 to 3.
_WELCOME = ((1.0, 1.0, 0.35, 0.1), (0.6, 1.0, 0.9, 0.7), (0.1, 0.4, 1.0, 1.0))
# For each beat that a note inside a line lasts beyond one: unstressed, inside a word, else.
_LONG_AND_LIGHT, _LONG_INSIDE, _LONG = 0.25, 0.45, 0.6
_SHORT, _SHORT_LAST, _LAST_BEATS, _VERY_LONG_LAST = 0.85, 0.2, 3, 0.4
_GIVES_WAY = 0.4  # a half stress beside a lighter syllable on a stronger place
_OPENS_LIGHT = 0.15  # an unstressed opening on the first beat, where no note leads in
# How welcome a note is beside the one before it, by how many times longer or shorter it is.
_UNEVEN = ((2, 1.0), (3, 0.6), (4, 0.2))
_VERY_UNEVEN = 0.04
# How far a bar line may lie off even spacing: in syllables, by a measure's share and at least; the
# most in multiples of that.
_DRIFT, _LEAST_DRIFT, _MOST_DRIFT = 0.35, 0.9, 2.2


class Last(NamedTuple):
    """The note before a measure: the strength of its place and its ticks; -1 for none.

    `over` says that it goes on in the measure.
    """

    strength: int = -1
    ticks: int = -1
    over: bool = False


class Fit(NamedTuple):
    """What a measure makes of its syllables: how bent, how welcome, and its last note."""

    bent: int
    factor: int
    last: Last


class _Inside(NamedTuple):
    """What a measure makes of its syllables by itself.

    How bent, how welcome each note is, the first note, the last one as what follows looks at it.
    """

    bent: int
    goods: list[float]
    first: Struck | None
    last: Last


class WordFit:
    """Judges measures for words in a metre and length; remembers what it has judged.

    `pickup` is what stands before the first beat, in whole notes.
    """

    def __init__(self, words: Words, metre: Metre, measures: int, pickup: Fraction = _NONE) -> None:
        self.syllables = words.syllables
        self.line_ends = frozenset(words.line_ends)
        self.openings = openings(words)
        self._measure, self._pulse = ticks(metre.measure), ticks(metre.pulse)
        self._each = len(self.syllables) / measures
        shares = [_CLOSING if n % PHRASE == PHRASE - 1 else 1.0 for n in range(measures)]
        whole = len(self.syllables) / sum(shares)
        self._usual = [whole * share for share in accumulate(shares)]  # sung by the end of each
        self._before = self._each * float(pickup / metre.measure)  # sung in a pickup
        self._known: dict[tuple[int, int, Last], Fit | None] = {}
        self._insides: dict[tuple[int, int], _Inside | None] = {}

    def fit(self, pattern: Pattern, start: int, last: Last) -> Fit | None:
        """How a measure takes syllables from `start` on after a note; None where it cannot."""
        key = (id(pattern), start, last)
        if key not in self._known:
            self._known[key] = self._judge(pattern, start, last)
        return self._known[key]

    def even(self, measure: int, end: int) -> float:
        """How welcome it is that so many syllables are sung by the end of a measure from 0.

        0 where the text is dragged or rushed out of all proportion.
        """
        before = self._before if measure % PHRASE < PHRASE - 1 else 0.0
        off = (end - self._usual[measure] - before) / max(_DRIFT * self._each, _LEAST_DRIFT)
        return exp(-(off**2)) if abs(off) <= _MOST_DRIFT else 0.0

    def breathes(self, syllable: int) -> bool:
        """Whether singers may breathe after a syllable."""
        return self.syllables[syllable].pause or syllable + 1 in self.line_ends

    def rounds_off(self, sung: int) -> bool:
        """Whether what is sung so far may end a phrase: not on an unstressed word such as `the`."""
        last, inside = self.syllables[sung - 1], sung > 1 and self.syllables[sung - 2].goes_on
        return last.stress > Stress.NONE or inside

    def _judge(self, pattern: Pattern, start: int, last: Last) -> Fit | None:
        inside = self._inside(pattern, start)
        if inside is None or bool(pattern.held) is not last.over:
            return None
        bent, welcome = inside.bent, 1.0
        if pattern.held:
            welcome = self._held_on(pattern, start)
            last = Last(last.strength, last.ticks + pattern.held)
        if inside.first is not None:
            more, beside = self._after(start, last, inside.first)
            bent, welcome = bent + more, welcome * (inside.goods[0] * beside)
            last = inside.last
        for good in inside.goods[1:]:
            welcome *= good
        return Fit(bent, max(round(welcome * _SCALE), 1), last._replace(over=pattern.over))

    def _inside(self, pattern: Pattern, start: int) -> _Inside | None:
        """What a measure makes of its syllables whatever came before; None where it cannot."""
        key = (id(pattern), start)
        if key not in self._insides:
            self._insides[key] = self._look_inside(pattern, start)
        return self._insides[key]

    def _look_inside(self, pattern: Pattern, start: int) -> _Inside | None:
        if start + pattern.notes > len(self.syllables):
            return None
        bent, goods, at, last, first = 0, [], start, Last(), None
        for number, each in enumerate(pattern.struck):
            if each.rest:
                if at == 0 or not self.breathes(at - 1):
                    return None
                continue
            good = self._welcome(pattern, number, at)
            if good is None or not self._begins(pattern, each, start, at):
                return None
            more, beside = self._after(at, last, each)
            goods.append(good * beside)
            first = first or each
            bent, last, at = bent + more, Last(each.strength, each.ticks), at + 1
        return _Inside(bent, goods, first, last)

    def _after(self, at: int, last: Last, each: Struck) -> tuple[int, float]:
        """How a note and its syllable come after the note before: how bent, how welcome."""
        if last.strength < 0 or at in self.line_ends:  # nothing before it, or a breath between
            return 0, 1.0
        is_bent = self._is_bent(at, last, each)
        beside = self._beside(at, last, each) * (_OPENS_LIGHT if is_bent else 1.0)
        return int(is_bent and at not in self.openings), beside

    def _begins(self, pattern: Pattern, each: Struck, start: int, at: int) -> bool:
        """Whether a line that begins here begins a measure or leads into the next one."""
        if each.offset < 0 and at + 1 < len(self.syllables):
            here, after = (each.stress for each in self.syllables[at : at + 2])
            return here is Stress.NONE or (here is Stress.HALF and after is Stress.FULL)
        if at not in self.line_ends or (at == start and not each.offset):
            return True
        end = start + pattern.notes
        led = self.syllables[at:end]
        inside = not any(n in self.line_ends for n in range(at + 1, end + 1))
        light = all(syllable.stress < Stress.FULL for syllable in led)
        return each.offset * 2 >= self._measure and inside and light and len(led) <= _LEADING

    def _is_bent(self, at: int, last: Last, each: Struck) -> bool:
        one, other = self.syllables[at - 1], self.syllables[at]
        return bends(one, other, (last.strength, each.strength), (last.ticks, each.ticks))

    def _beside(self, at: int, last: Last, each: Struck) -> float:
        """How welcome a note is beside the one before it."""
        one, other = self.syllables[at - 1].stress, self.syllables[at].stress
        weaker = (one > other and last.strength < each.strength) or (
            other > one and each.strength < last.strength
        )
        ratio = max(each.ticks, last.ticks) / min(each.ticks, last.ticks)
        even = next((factor for most, factor in _UNEVEN if ratio <= most), _VERY_UNEVEN)
        return even * (_GIVES_WAY if weaker else 1.0)

    def _welcome(self, pattern: Pattern, number: int, at: int) -> float | None:
        each, syllable = pattern.struck[number], self.syllables[at]
        welcome = _WELCOME[syllable.stress][each.strength]
        beats = each.ticks / self._pulse
        behind = pattern.struck[number + 1] if number + 1 < len(pattern.struck) else None
        if at + 1 in self.line_ends:
            if beats < 1:
                return None
            held = beats > 1 or each.ticks >= _HALF or (behind is not None and behind.rest)
            very_long = _VERY_LONG_LAST if beats > _LAST_BEATS else 1.0
            return max(welcome, 0.3) * (very_long if held else _SHORT_LAST)
        if beats < 1:
            return welcome * _SHORT
        return welcome * self._long(syllable, beats - 1)

    def _held_on(self, pattern: Pattern, at: int) -> float:
        """How welcome it is that the syllable before goes on over the bar line."""
        beats = pattern.held / self._pulse
        return 1.0 if at in self.line_ends else self._long(self.syllables[at - 1], beats)

    def _long(self, syllable: Syllable, beats: float) -> float:
        light = syllable.stress is Stress.NONE
        each_beat = _LONG_AND_LIGHT if light else _LONG_INSIDE if syllable.goes_on else _LONG
        return float(each_beat**beats)


def openings(words: Words) -> frozenset[int]:
    """The first stressed syllable of each line that opens unstressed.

    Where no note leads in, nothing keeps such an opening off the first beat; it is no worse for one
    rhythm than for another.
    """
    found, at = set(), 0
    for line in words.lines:
        stressed = [n for n, syllable in enumerate(line) if syllable.stress is Stress.FULL]
        if stressed and stressed[0]:
            found.add(at + stressed[0])
        at += len(line)
    return frozenset(found)


def bends(
    one: Syllable, other: Syllable, strengths: tuple[int, int], lengths: tuple[int, int]
) -> bool:
    """Whether the stress of two syllables, one after the other, is bent.

    A stressed one has a weaker place than an unstressed one, or is shorter while that one is held
    on a place as strong.
    """
    if {one.stress, other.stress} != {Stress.NONE, Stress.FULL}:
        return False
    if one.stress is Stress.NONE:
        one, other = other, one
        strengths, lengths = strengths[::-1], lengths[::-1]
    held = lengths[1] > lengths[0] and lengths[1] >= _HALF and strengths[1] == strengths[0]
    return strengths[0] < strengths[1] or held


def bent_words(words: Words, strengths: list[int], lengths: list[int]) -> tuple[str, ...]:
    """Words whose stress is bent beside a neighbour of their line.

    `strengths` and `lengths` (in ticks) are those of the notes, one a syllable.
    """
    syllables, ends = words.syllables, set(words.line_ends)
    found = []
    for at in range(1, len(syllables)):
        one, other = syllables[at - 1], syllables[at]
        places = (strengths[at - 1], strengths[at])
        if at not in ends and bends(one, other, places, (lengths[at - 1], lengths[at])):
            found.append(one.word if one.stress is Stress.FULL else other.word)
    return tuple(dict.fromkeys(found))
