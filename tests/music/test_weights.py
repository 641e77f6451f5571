"""The fitted numbers: few, plain, with a trait each, and put to use as chances."""

import math
from itertools import chain
from random import Random

import numpy as np
import pytest

from bot.music import weights
from bot.music.composer import Composer
from bot.music.critic import heard
from bot.music.exercise import Tone
from bot.music.habits import Place
from bot.music.leanings import trait_names
from bot.music.line_facts import facts, rhythm_facts
from bot.music.line_model import LineModel
from bot.music.measure_traits import measure_traits
from bot.music.moves import Moves
from bot.music.patterns import Filling, Role
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.rhythm_weights import measure_weight
from bot.music.traits import TRAITS, grid
from tests.music.levels import level

_ALL = {Tone(step=step): step for step in range(-3, 8)}
_BEAT = Place(1, 1, 1, 1)


def _chances(tones, place=_BEAT, skips=None):
    pairs = [(a, b) for a in tones for b in tones if a < b] if skips is None else skips
    moves = Moves(tuple(tones), pairs, 3, None)
    return moves, LineModel(moves).way_weights(place)


def _from(moves, chances, *steps):
    """Chances of going on from tones, by step: the context that these tones lead to."""
    number = {tone.step: place for place, tone in enumerate(moves.tones)}
    memory = next(m for m in moves.memories if m.last == number[steps[0]] and m.before < 0)
    for step in steps[1:]:
        memory = moves.follow(memory, number[step])
    context = moves.memories.index(memory)
    return {
        moves.tones[moves.tone[k, context]].step: chances[k, context]
        for k in np.flatnonzero(moves.legal[:, context])
    }


def test_every_number_has_a_trait_and_every_trait_a_number():
    assert set(weights.LINE) == set(weights.MINOR) == set(TRAITS)
    assert set(weights.LEAN) <= set(trait_names())
    line = Composer(level("p09", "r09"), level("p09", "r09").tones).draw(Random(1))
    exercise = line.exercise(Key.parse("F"), 4)
    assert set(weights.CRITIC) == set(facts(heard(exercise), exercise.measures))
    assert set(weights.RHYTHM_CRITIC) == set(rhythm_facts(heard(exercise), exercise.measures))


def test_every_number_of_rhythm_names_a_trait_that_a_measure_can_have():
    cells = level("p15", "r16").cells
    possible = set()
    for metre in (Metre(), Metre(beats=3), Metre(beats=2)):
        fitting = tuple(cell for cell in cells if cell.offsets(metre))
        for pattern in Filling(fitting, metre).patterns():
            for role in Role:
                possible.update(measure_traits(pattern, role, metre))
    assert set(weights.MEASURE) <= possible


def test_the_numbers_are_too_few_and_too_coarse_to_hold_a_tune():
    rows = (
        weights.LINE,
        weights.MINOR,
        weights.LEAN,
        weights.START,
        weights.MEASURE,
        weights.CRITIC,
        weights.RHYTHM_CRITIC,
    )
    curve = [number for phrase in weights.CURVE for measure in phrase for number in measure]
    numbers = [*chain.from_iterable(row.values() for row in rows), *curve, *weights.LAST]
    assert len(numbers) < 650
    assert all(math.isfinite(number) and abs(number) < 20 for number in numbers)
    fine = [*weights.LINE.values(), *weights.LEAN.values(), *weights.MEASURE.values(), *curve]
    assert all(round(number, 2) == number for number in fine)


def test_the_ways_on_from_a_context_share_a_chance_of_one():
    for place in (_BEAT, Place(3, 2, 1, 3, True), Place(0, 0, 2, 0, False, 1)):
        moves, chances = _chances(_ALL, place)
        goes_on = moves.legal.any(axis=0)
        whole = chances.sum(axis=0)[goes_on]
        assert len(whole) > 500
        assert whole == pytest.approx(np.ones(len(whole)), abs=1e-4)
        assert (chances[moves.legal] > 0).all()
        assert not chances[~moves.legal].any()


def test_chances_are_numbers_of_few_digits():
    _, chances = _chances(_ALL)
    assert (np.round(chances, 9) == chances).all()


def test_ti_leads_to_do_and_a_step_is_likelier_than_a_leap():
    moves, chances = _chances(_ALL)
    after_ti = _from(moves, chances, -2, -1)
    assert max(after_ti, key=after_ti.get) == 0
    after_mi = _from(moves, chances, 1, 2)
    assert after_mi[3] + after_mi[1] > after_mi[6] + after_mi[7] + after_mi[-1] + after_mi[-2]


def test_in_minor_the_fifth_leads_to_the_tonic_by_other_numbers_than_in_major():
    scale = {tone: tone.step for tone in _ALL}
    pairs = [(a, b) for a in scale for b in scale if a < b]
    major = LineModel(Moves(tuple(scale), pairs, 3, None)).way_weights(_BEAT)
    minor = LineModel(Moves(tuple(scale), pairs, 3, None, tonic=-2)).way_weights(_BEAT)
    assert major.shape == minor.shape
    assert not np.allclose(major, minor)


def test_a_phrase_that_ends_halfway_ends_rather_on_so_than_on_fa():
    ends, inside = Place(3, 2, 1, 3, True), Place(3, 2, 1, 3, False)
    moves, ending = _chances(_ALL, ends)
    _, going = _chances(_ALL, inside)
    here, there = _from(moves, ending, 3, 4), _from(moves, going, 3, 4)
    assert here[4] / here[3] > there[4] / there[3]


def test_a_line_that_lies_high_prefers_high_tones():
    moves, low = _chances(_ALL, _BEAT._replace(lie=-1))
    _, high = _chances(_ALL, _BEAT._replace(lie=1))
    assert _from(moves, high, 2)[3] > _from(moves, low, 2)[3]


@pytest.mark.parametrize("metre", [Metre(), Metre(beats=3), Metre(beats=2)])
def test_every_measure_keeps_a_weight_however_rare_it_is(metre):
    cells = tuple(cell for cell in level("p15", "r16").cells if cell.offsets(metre))
    patterns = Filling(cells, metre).patterns()
    assert min(measure_weight(pattern, (0,), 8, metre) for pattern in patterns) >= 1


def test_four_quarters_open_a_phrase_oftener_than_four_sixteenth_groups():
    by_text = {
        " ".join(cell.text for cell in pattern.cells): pattern
        for pattern in Filling(level("p15", "r16").cells, Metre()).patterns()
    }
    plain, busy = by_text["q q q q"], by_text["e s s e s s s s s s q"]
    assert measure_weight(plain, (0,), 8, Metre()) > 100 * measure_weight(busy, (0,), 8, Metre())


def test_a_trait_looks_only_at_the_way_that_it_names():
    ways = grid((0, 1, 2))
    rises = np.broadcast_to(TRAITS["mi-re"](ways), (4, 3, 4, 3, 3))
    assert rises[0, 0, 0].tolist() == [[False] * 3, [False] * 3, [False, True, False]]
