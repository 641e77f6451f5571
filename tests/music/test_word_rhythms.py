"""Rhythms for words: their sum is that of all rhythms written out, and draws follow it."""

from collections import Counter
from itertools import pairwise, product
from math import prod
from random import Random

import pytest

from bot.music.drawing import Unread
from bot.music.rhythms import Taken
from bot.music.sequence import Form
from bot.music.word_fit import Last, WordFit
from bot.music.word_ground import WordComposer
from bot.music.word_tables import WordTables
from bot.music.words import Stress, Syllable, Words
from tests.music.levels import TWO_FOUR, cut, level

_FREE, _TIED = Form(letters="abcd", weight=1), Form(letters="abac", weight=1)
_TEXTS = {
    "trochees": ([2, 0, 2, 0, 2, 0], []),
    "iambs": ([0, 2, 0, 2, 0, 2], []),
    "two lines": ([2, 0, 0, 2, 1, 2], [4]),
    "bent": ([0, 2, 2, 0, 0, 2, 2], [3]),
    "held": ([2, 0, 2, 0, 2], []),
}


def _ground(name):
    stresses, ends = _TEXTS[name]
    row = [Syllable(text="la", stress=Stress(each), word="la") for each in stresses]
    cuts = [0, *ends, len(row)]
    lines = tuple(tuple(row[a:b]) for a, b in pairwise(cuts))
    full = cut(level("p01", "r21" if name == "held" else "r04"), "q", "h", "e e")
    composer = WordComposer(full, full.tones, Words(lines=lines))
    return composer, composer.words_ground(TWO_FOUR, 4, pickup=False)


def _written_out(ground, form):
    """Every rhythm of a form that takes the words: cells -> how bent, its weight."""
    rhythms = ground.rhythms(form, ())
    steps = ground._steps(form)
    found = {}
    for numbers in product(*(range(len(letter)) for letter in rhythms.letters[1:])):
        chosen = [rhythms.letters[k + 1][n] for k, n in enumerate(numbers)]
        measures = {m: each for each, step in zip(chosen, steps, strict=True) for m in step}
        order = [measures[m].pattern for m in range(4)]
        if sum(pattern.notes for pattern in order) != len(ground.fit.syllables):
            continue
        weight = bent = 0
        at, last, fits = 0, Last(), 1
        for measure, pattern in enumerate(order):
            if form is _TIED and measure == 2:
                last = Last()  # the halves are walked side by side
            fit = ground.fit.fit(pattern, at, last)
            at += pattern.notes
            if fit is None or not ground.fit.even(measure, at):
                break
            last, bent, fits = fit.last, bent + fit.bent, fits * fit.factor
        else:
            weight = fits
            for step, each in zip(steps, chosen, strict=True):
                ends = [sum(p.notes for p in order[: m + 1]) for m in step]
                even = 1.0
                for m, end in zip(step, ends, strict=True):
                    even *= ground.fit.even(m, end)
                weight *= each.weight * max(round(even * 1000), 1)
            newest = min(sum(c.adds.newest for c in chosen), ground.needed)
            found[tuple(p.name for p in order)] = (bent, weight * 3**newest)
    return found


@pytest.mark.parametrize("form", [_FREE, _TIED])
@pytest.mark.parametrize("name", _TEXTS)
def test_the_sum_is_that_of_all_rhythms_that_bend_the_words_least(name, form):
    _, ground = _ground(name)
    found = _written_out(ground, form)
    rhythms = ground.rhythms(form, ())
    if not found:
        assert rhythms.total == 0
        return
    least = min(bent for bent, _ in found.values())
    assert rhythms.bent == least
    assert rhythms.total == sum(weight for bent, weight in found.values() if bent == least)


def _eight_measures(stresses):
    """Halves and quarters in 2/4; the second half may begin behind any syllable."""
    row = tuple(Syllable(text="la", stress=Stress(each), word="la") for each in stresses)
    full = cut(level("p03", "r01"), "q", "h", measures=8)
    composer = WordComposer(full, full.tones, Words(lines=(row,)))
    return composer.words_ground(TWO_FOUR, 8, pickup=False)


@pytest.mark.parametrize("stresses", [[2, 1] * 6, [2, 0, 0, 2, 0, 2, 2, 0, 0, 2, 0, 2]])
@pytest.mark.parametrize("letters", ["abcdefgh", "abcdabef"])
def test_where_the_second_half_may_begin_anywhere_every_rhythm_is_summed_too(stresses, letters):
    ground, form = _eight_measures(stresses), Form(letters=letters, weight=1)
    rhythms, steps = ground.rhythms(form, ()), ground._steps(form)
    found = []
    for numbers in product(*(range(len(letter)) for letter in rhythms.letters[1:])):
        chosen = [rhythms.letters[k + 1][n] for k, n in enumerate(numbers)]
        measures = {m: each for each, step in zip(chosen, steps, strict=True) for m in step}
        order = [measures[m].pattern for m in range(8)]
        ends = [sum(p.notes for p in order[: m + 1]) for m in range(8)]
        if ends[-1] != len(stresses) or ends[3] not in ground._seams(4):
            continue
        found += _weighed(ground, steps, chosen, order, ends)
    least = min(bent for bent, _ in found)
    assert rhythms.bent == least
    assert rhythms.total == sum(weight for bent, weight in found if bent == least)


def test_where_no_line_ends_a_half_does_not_end_on_an_unstressed_word():
    stresses = [2, 0, 0, 2, 0, 2, 2, 0, 0, 2, 0, 2]
    seams = _eight_measures(stresses)._seams(4)
    assert {stresses[seam - 1] for seam in seams} == {2}
    light = _eight_measures([0] * 12)._seams(4)
    assert len(light) > len(seams)  # where none is stressed, any may end it


def test_a_longer_word_may_end_a_half_unstressed():
    row = (
        Syllable(text="riv", stress=Stress.FULL, word="river", goes_on=True),
        Syllable(text="er", stress=Stress.NONE, word="river"),
        Syllable(text="and", stress=Stress.NONE, word="and"),
    )
    fit = WordFit(Words(lines=(row * 2,)), TWO_FOUR, 4)
    assert [fit.rounds_off(n) for n in (1, 2, 3)] == [True, True, False]


def _weighed(ground, steps, chosen, order, ends):
    """How bent a rhythm is and its weight, if the words go with it."""
    weight, bent, last, starts = 1, 0, Last(), [0, *ends]
    for measure, pattern in enumerate(order):
        last = Last() if measure == 4 else last
        fit = ground.fit.fit(pattern, starts[measure], last)
        if fit is None:
            return
        last, bent, weight = fit.last, bent + fit.bent, weight * fit.factor
    for step, each in zip(steps, chosen, strict=True):
        even = prod(ground.fit.even(m, ends[m]) for m in step)
        if not even:
            return
        weight *= each.weight * max(round(even * 1000), 1)
    yield bent, weight


@pytest.mark.parametrize("form", [_FREE, _TIED])
@pytest.mark.parametrize("name", _TEXTS)
def test_once_the_best_is_known_what_does_worse_is_not_summed_and_the_best_is_the_same(name, form):
    _, whole = _ground(name)
    _, bounded = _ground(name)
    every = whole.rhythms(form, ())
    bounded._least = every.bent if every.total else 0
    again = bounded.rhythms(form, ())
    assert (again.bent, again.total) == (every.bent, every.total)
    for seed in range(10 if every.total else 0):
        assert again.draw(Random(seed), Taken()) == every.draw(Random(seed), Taken())


def test_lines_for_the_same_words_share_what_measures_make_of_them_and_are_the_same():
    _, first = _ground("two lines")
    row = first.fit.syllables
    words = Words(lines=(row[:4], row[4:]))
    full, tables = cut(level("p01", "r04"), "q", "h", "e e"), WordTables()
    grounds = [
        WordComposer(full, full.tones, words, tables=each).words_ground(TWO_FOUR, 4, pickup=False)
        for each in (None, tables, tables)
    ]
    alone, one, other = (ground.rhythms(_FREE, ()) for ground in grounds)
    assert one is other is not alone
    assert (one.bent, one.total) == (alone.bent, alone.total)
    for seed in range(10):
        assert one.draw(Random(seed), Taken()) == alone.draw(Random(seed), Taken())
    other_words = WordComposer(full, full.tones, Words(lines=(row,)), tables=tables)
    assert other_words.words_ground(TWO_FOUR, 4, pickup=False).rhythms(_FREE, ()) is not one


def test_rhythms_are_drawn_by_their_weight_and_not_when_taken_out():
    _, ground = _ground("two lines")
    rhythms, draws = ground.rhythms(_FREE, ()), 8_000
    found = _written_out(ground, _FREE)
    random = Random(5)
    paths = Counter(rhythms.draw(random, Taken()) for _ in range(draws))
    frame = next(f for f in ground.frames(1.0) if f.form.free)
    chi = 0.0
    seen = {tuple(p.name for p in frame.line(path)): count for path, count in paths.items()}
    likely = {key: weight for key, (bent, weight) in found.items() if bent == rhythms.bent}
    for key, weight in likely.items():
        expected = draws * weight / rhythms.total
        if expected < 5:
            continue
        chi += (seen.get(key, 0) - expected) ** 2 / expected
    degrees = sum(draws * w / rhythms.total >= 5 for w in likely.values()) - 1
    assert degrees >= 3
    assert chi / degrees < 3
    assert set(seen) <= set(likely)
    taken = Taken()
    for path in paths:
        if len(paths) > 1 and path != min(paths):
            taken.take(rhythms, path, rhythms.weight(path))
    left = {rhythms.draw(random, taken) for _ in range(50)}
    assert left.isdisjoint(set(paths) - {min(paths)})


def test_every_line_over_a_rhythm_of_the_words_is_summed():
    composer, ground = _ground("trochees")
    frame = next(f for f in ground.frames(1.0) if f.form.free)
    path = frame.rhythms.draw(Random(1), Taken())
    lines = composer.lines(frame, path)
    drawn = {Unread(lines).draw(Random(seed)) for seed in range(300)}
    assert all(len(tones) == 6 for tones in drawn)
    assert all(lines.labels(tones) is not None for tones in drawn)
    rest = Unread(lines, [lines.labels(tones) for tones in drawn])
    assert rest.read == len(drawn)
    assert 0.0 <= rest.share < 0.5
