"""The fit reads what it says, keeps the test apart, and gives the numbers that are shipped."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from bot.music import weights
from bot.music.rhythm import Metre
from bot.music.sequence import Form
from bot.music.traits import TRAITS
from tests.fit import lean_fit, moment_fit, pitch_fit
from tests.fit.__main__ import NEAR
from tests.fit.abc_tunes import Tune, tunes_of
from tests.fit.broad import Maker, broad_level
from tests.fit.corpus import clusters, read, runs, windows
from tests.fit.critic_fit import fit_choice
from tests.fit.curve_fit import fit_curve
from tests.fit.families import earlier, echo
from tests.fit.figures import distance
from tests.fit.form_fit import shares
from tests.fit.logistic import area, told_apart
from tests.fit.melody import Melody
from tests.fit.ngram import NGram

# Made up for this test.
_TUNES = """
X:1
T: First
M: 2/4
L: 1/8
K: F
C | F2A2 | c3 B | A>G
FE | F2 z

X:2
T: Signs
M: 4/4
L: 1/4
K: G
G_BBf | =fBAG

X:3
T: Short of a beat
M: 4/4
L: 1/4
K: G
GABG | GA | GABc | G4
"""


@cache
def corpus():
    return read()


def _melody(*steps):
    notes = tuple((4 * at, 4, step) for at, step in enumerate(steps))
    return Melody(measure=16, length=4 * len(steps), notes=notes)


def test_a_tune_is_read_with_its_pickup_and_what_is_left_out_says_why(tmp_path):
    path = tmp_path / "made.abc"
    path.write_text(_TUNES, encoding="utf-8")

    first, signs, *rest = tunes_of(path)

    assert rest == ["bars do not add up"]
    assert isinstance(first, Tune)
    assert not first.signs
    assert isinstance(signs, Tune)
    assert signs.signs
    assert [note.alter for note in signs.notes] == [0, -1, -1, 0, -1, 0, 0, 0]
    assert (first.metre, first.measure, first.pickup) == ("2/4", 16, 4)
    assert [(note.start, note.length) for note in first.notes[:4]] == [
        (0, 4),
        (4, 8),
        (12, 8),
        (20, 12),
    ]
    assert [(note.length, note.step) for note in first.notes[5:7]] == [(6, 33), (2, 32)]


def test_tunes_that_share_twelve_notes_are_one_cluster_and_others_are_not():
    long = [0, 1, 2, 3, 4, 3, 2, 1, 0, 2, 4, 2, 0]
    one, variant, other = _melody(*long), _melody(5, *long), _melody(*long[:11], 6, 6)
    groups = clusters([one, other, variant])
    assert sorted(len(group) for group in groups) == [1, 2]


def test_no_run_of_twelve_notes_of_the_test_is_in_the_training_part():
    trained = {run for melody in corpus().train for run in runs(melody)}
    held = {run for melody in (*corpus().left, *corpus().right) for run in runs(melody)}
    assert len(trained) > 30_000
    assert not trained & held
    assert not {run for m in corpus().left for run in runs(m)} & {
        run for m in corpus().right for run in runs(m)
    }


def test_windows_are_eight_measures_that_end_on_do_within_the_compass():
    found = windows(corpus().train)
    assert len(found) > 100
    assert all(len(melody.bars()) == 8 and melody.notes[0][0] == 0 for melody in found)
    assert all(melody.steps[-1] == 0 for melody in found)
    assert all(-3 <= step <= 7 for melody in found for step in melody.steps)


def test_the_shipped_numbers_lie_a_part_of_the_way_from_those_that_the_fit_gives():
    line = pitch_fit.fit(pitch_fit.counts(corpus().train), tuple(TRAITS))
    fitted, shipped = np.array(list(line.values())), np.array([weights.LINE[each] for each in line])
    assert np.corrcoef(fitted, shipped)[0, 1] > 0.9
    eight = windows(corpus().train) + windows(corpus().train, 12)
    curve = fit_curve(eight, line, 8)
    assert np.abs(curve[:4] - np.array(weights.CURVE[1])).mean() < 0.2


def test_a_number_moves_to_where_its_trait_comes_as_often_as_in_tunes():
    real, made = _moments(line=60, curve=0.5), _moments(line=20, curve=0.25)
    numbers = moment_fit.Numbers(line={"octave": 1.0}, lean={}, measure={}, curve=_flat(0.0),
                                 sharpness=np.ones(4))  # fmt: skip
    after = moment_fit.moved(numbers, real, made, 0.5)
    assert after.line["octave"] == pytest.approx(1 + 0.5 * np.log(70 / 30))
    assert after.curve[0] == pytest.approx(0.0)
    assert after.curve[1:] == pytest.approx(np.full((2, 4, 3), 0.125))
    assert moment_fit.moved(numbers, made, made, 0.5).line == numbers.line
    parts = moment_fit.trusted(numbers, after, real)
    assert (parts.curve[..., 1] < 0).all()
    way = parts.line["octave"] - 1
    assert way == pytest.approx(60 / (60 + 80) * (after.line["octave"] - 1), abs=0.006)


def test_echoes_stay_and_a_measure_that_surprises_more_than_others_grows_sharper():
    name = "a measure, same rhythm: tone again, 2"
    real, made = _moments(line=60, curve=0.0), _moments(line=60, curve=0.0)
    made = replace(made, surprise=np.array([2.0, 2.0, 2.0, 2.4]))
    numbers = moment_fit.Numbers(line={}, lean={name: 1.0}, measure={}, curve=_flat(0.0),
                                 sharpness=np.ones(4))  # fmt: skip
    after = moment_fit.moved(numbers, replace(real, lean={name: 90}), made, 0.5)
    assert after.lean[name] > 1.1
    assert after.sharpness == pytest.approx(np.exp(0.5 * np.array([-0.1, -0.1, -0.1, 0.3])))
    assert moment_fit.trusted(numbers, after, real).lean[name] == 1.0


def test_what_a_tune_has_seldom_surprises_in_the_measure_where_it_stands():
    tune = Melody(measure=16, length=128, notes=tuple((8 * at, 8, 7 * (at == 6))
                                                      for at in range(16)))  # fmt: skip
    line = pitch_fit.fit(pitch_fit.counts(corpus().train[:200]), tuple(TRAITS))
    surprise = moment_fit.Counting(line).moments([tune]).surprise
    assert surprise.argmax() == 3
    assert surprise[3] > 2 * surprise[1]


def _moments(line, curve):
    flat = np.full((8, 3), curve)
    return moment_fit.Moments(line={"octave": line}, lean={}, measure={}, curve=flat,
                              spread=np.ones((8, 3)), surprise=np.full(4, 2.0),
                              size=(100, 100, 100))  # fmt: skip


def _flat(value):
    return np.full((3, 4, 3), value)


def test_drawn_lines_take_the_ways_of_tunes_about_as_often():
    counting = moment_fit.Counting(weights.LINE)
    real = counting.moments(windows(corpus().train))
    made = counting.moments(Maker(broad_level(), Metre()).bare(80, seed=400_000))
    for name in ("repeat", "third up", "to so", "to mi", "tonic chord, other beat", "returns"):
        share = real.line[name] / real.size[0]
        assert made.line[name] / made.size[0] == pytest.approx(share, rel=0.3), name


def test_choices_by_the_fitted_numbers_have_the_facts_of_tunes_on_the_mean():
    numbers = np.random.default_rng(5)
    groups, aim = numbers.normal(size=(300, 12, 3)), np.array([0.4, -0.2, 0.0])
    scores = groups @ fit_choice(groups, aim, 1e-6)
    shares = np.exp(scores) / np.exp(scores).sum(axis=1, keepdims=True)
    assert np.einsum("gk,gkf->f", shares, groups) / 300 == pytest.approx(aim, abs=1e-3)


def test_held_out_tunes_surprise_the_few_numbers_no_more_than_a_trigram_table_does():
    held = pitch_fit.counts((*corpus().left, *corpus().right))
    line = pitch_fit.fit(pitch_fit.counts(corpus().train), tuple(TRAITS))
    assert pitch_fit.bits(held, line) < 2.34
    assert pitch_fit.bits(held, weights.LINE) < 2.36  # moved for drawing, which costs little
    flat = dict.fromkeys(weights.LINE, 0.0)
    assert pitch_fit.bits(held, flat) == pytest.approx(np.log2(len(pitch_fit.STEPS)))


def test_an_n_gram_shares_out_a_chance_of_one():
    model = NGram([(("a", "b"), "c"), (("a", "b"), "d"), (("x", "b"), "d")], alphabet=4)
    whole = sum(model.probability(("a", "b"), came) for came in ("c", "d", "e", "f"))
    assert whole == pytest.approx(1)
    assert model.probability(("a", "b"), "d") > model.probability(("a", "b"), "e")


def test_an_area_is_a_half_where_nothing_differs_and_one_where_all_does():
    numbers = np.random.default_rng(1)
    alike, other = numbers.normal(size=(200, 5)), numbers.normal(size=(200, 5))
    assert 0.4 < told_apart(alike, other) < 0.6
    assert told_apart(alike, other + 6) > 0.99
    assert area(np.array([1.0, 1.0, 0.0]), np.array([1, 0, 0])) == 0.75


def test_distances_and_echoes_by_hand():
    assert distance("aabb", "abab") == 0
    assert distance("a", "b") == 1
    assert earlier(["x", "y", "x", "x"]) == 0.5
    assert echo(_melody(0, 1, 2, 3, 0, 1, 2, 3)) == pytest.approx(1 / 5)


def test_a_mixture_finds_the_form_that_made_the_windows():
    again = _melody(*[0, 1, 2, 3] * 2, *[4, 3, 2, 1], *[0, 0, 0, 0])
    bars = (again.notes[:4], ((16, 8, 1), (24, 8, 2)), again.notes[8:12], ((48, 16, 0),))
    plain = Melody(measure=16, length=64, notes=tuple(note for bar in bars for note in bar))
    forms = [Form(letters=letters, weight=1) for letters in ("abac", "abcd", "aaab")]
    tied, free, _ = shares([plain] * 5, forms)
    assert tied > 0.9 > free


def test_the_numbers_of_minor_tell_held_out_tunes_in_minor_better_than_those_of_major():
    minor = pitch_fit.counts(corpus().minor_held)
    assert len(corpus().minor) > 150
    assert pitch_fit.bits(minor, weights.MINOR) < pitch_fit.bits(minor, weights.LINE) - 0.08
    trained = {run for melody in corpus().minor for run in runs(melody)}
    assert not trained & {run for melody in corpus().minor_held for run in runs(melody)}


def test_held_out_tunes_surprise_a_line_that_leans_on_what_was_sung_much_less():
    held = lean_fit.ways(corpus().right[:150], weights.LINE)
    assert lean_fit.bits(held, weights.LEAN) < lean_fit.bits(held, {}) - 0.25


def test_a_fitted_leaning_finds_the_measure_that_always_comes_again():
    melodies = [_melody(*[a, b, c, d] * 2, 0) for a, b, c, d in _FOURS]
    found = lean_fit.ways(melodies, weights.LINE)
    fitted = lean_fit.fit(found, lean_fit.names_of(found))
    assert fitted["a measure, same rhythm: tone again, 3"] > 1


def test_a_leaning_that_makes_tunes_hardly_likelier_is_left_out():
    found = lean_fit.ways([_melody(*[a, b, c, d] * 2, 0) for a, b, c, d in _FOURS], weights.LINE)
    names = lean_fit.names_of(found)
    kept = lean_fit.fit(found, names)
    every = lean_fit.fit(found, names, worth=0.0)
    small = {name: value for name, value in lean_fit.worths(found, every).items() if value < 1}
    assert len(small) > 30
    assert not kept.keys() & small.keys()
    for name, worth in list(small.items())[::6]:
        without = {each: value for each, value in every.items() if each != name}
        more = lean_fit.bits(found, without) - lean_fit.bits(found, every)
        nats = more * len(found.taken) * np.log(2) - lean_fit.RIDGE / 2 * every[name] ** 2
        assert nats == pytest.approx(worth, rel=0.15, abs=0.02)


_FOURS = [(a, b, c, 2) for a in (0, 1, 2, 4) for b in (1, 2, 3, 4) for c in (0, 1, 3, 5)]


@pytest.mark.long
def test_the_shipped_numbers_of_minor_are_those_that_the_fit_gives():
    line = pitch_fit.fit(pitch_fit.counts(corpus().train), tuple(TRAITS))
    minor = pitch_fit.fit(pitch_fit.counts(corpus().minor), tuple(TRAITS), NEAR, line)
    assert minor == pytest.approx(dict(weights.MINOR), abs=0.03)


@pytest.mark.long
def test_the_shipped_leanings_lie_a_part_of_the_way_from_those_that_the_fit_gives():
    line = pitch_fit.fit(pitch_fit.counts(corpus().train), tuple(TRAITS))
    found = lean_fit.ways(corpus().train, line)
    lean = lean_fit.fit(found, lean_fit.names_of(found))
    shipped = [weights.LEAN.get(name, 0.0) for name in lean]
    assert np.corrcoef(list(lean.values()), shipped)[0, 1] > 0.9
