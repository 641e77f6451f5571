"""A line leans on what it has sung: the traits by hand, and what they do to draws."""

from itertools import pairwise
from math import fsum
from random import Random

import pytest

from bot.music.composer import Composer
from bot.music.drawing import Unread
from bot.music.leanings import Leanings, Sung, trait_names
from bot.music.rhythm import Metre
from bot.music.rhythms import Taken
from bot.music.skeleton import Skeleton, Spot
from tests.music.levels import level

_STEPS = tuple(range(-3, 8))
_QUARTER, _HALF = 24, 48


def _quarters(measures, beats=4):
    spots = [
        Spot(bar, beat * _QUARTER, _QUARTER) for bar in range(measures) for beat in range(beats)
    ]
    ends = tuple(beats * bar for bar in range(4, measures + 1, 4)) or (len(spots),)
    return Skeleton(places=(), new=(), phrase_ends=ends, spots=tuple(spots))


def _traits(skeleton, *steps, metre=None):
    leanings, sung = Leanings(skeleton, metre or Metre()), Sung()
    for step in steps:
        sung = leanings.sing(sung, step)
    return set(leanings.traits(sung, _STEPS))


def test_a_measure_that_begins_as_the_one_before_speaks_for_going_on_so():
    found = _traits(_quarters(4), 0, 2, 4, 2, 0, 2)
    assert ("a measure, same rhythm: tone again, 2", 4) in found
    assert not any("a measure, same rhythm: move" in name for name, _ in found)


def test_a_measure_on_other_steps_speaks_for_the_same_move():
    found = _traits(_quarters(4), 0, 2, 4, 2, 1, 3)
    assert ("a measure, same rhythm: tone again, 0", 4) in found
    assert ("a measure, same rhythm: move again, 1", 5) in found


def test_a_run_ends_where_the_rhythms_part():
    spots = (Spot(0, 0, _QUARTER), Spot(0, 24, _QUARTER), Spot(0, 48, _HALF),
             Spot(1, 0, _HALF), Spot(1, 48, _HALF))  # fmt: skip
    found = _traits(Skeleton(places=(), new=(), phrase_ends=(5,), spots=spots), 0, 1, 2, 0)
    assert ("a measure, other rhythm: tone again, 0", 2) in found


def test_halves_echo_in_four_beats_and_not_in_three():
    assert any("half" in name for name, _ in _traits(_quarters(2), 0, 1, 2))
    three = _traits(_quarters(2, beats=3), 0, 1, 2, metre=Metre(beats=3))
    assert not any("half a" in name for name, _ in three)


def test_the_top_the_bottom_and_the_octave():
    found = _traits(_quarters(4), 0, 4, 2)
    assert {("the top again", 4), ("a new bottom", -1)} <= found
    assert ("the top again", 5) not in found
    assert ("beyond an octave", -3) not in found
    assert ("beyond an octave", -3) in _traits(_quarters(4), 0, 5, 2)


def test_every_trait_that_comes_up_has_a_name_in_the_list():
    steps = (0, 2, 4, 2, 0, 2, 4, 2, 1, 3, 5, 3, 4, 2, 1, 4)
    known = set(trait_names())
    for length in range(1, len(steps)):
        assert {name for name, _ in _traits(_quarters(4), *steps[:length])} <= known


def test_what_comes_again_is_what_a_look_back_over_the_line_finds():
    random = Random(3)
    skeleton = _quarters(8)
    for _ in range(20):
        past = [random.randrange(5) for _ in range(random.randrange(4, 30))]
        moves = [b - a for a, b in pairwise(past)]
        again = {
            past[-1] + moves[at] for at in range(2, len(moves)) if moves[at - 2 : at] == moves[-2:]
        }
        after = {b for a, b in pairwise(past) if a == past[-1]}
        found = _traits(skeleton, *past)
        assert {step for name, step in found if name == "three moves again"} == again
        assert {step for name, step in found if name == "two tones again"} == after


def _lines(*, copied):
    full = level("p05", "r04")
    composer = Composer(full, full.tones)
    frames = composer.frames(Metre(), 8)
    frame = next(each for each in frames if bool(each.form.copied) is copied)
    return composer.lines(frame, frame.rhythms.draw(Random(1), Taken()))


@pytest.mark.parametrize("copied", [False, True])
def test_no_choice_is_lost_and_none_is_won(copied):
    lines = _lines(copied=copied)
    random, state = Random(1), lines.root
    while leant := lines.choices(state):
        plain = lines.inner.choices(state[0])
        assert [label for label, _, _ in leant] == [label for label, _, _ in plain]
        masses = [mass for _, mass, _ in leant]
        assert all(mass > 0.0 for mass in masses)
        state = random.choices(leant, masses)[0][2]


def test_leant_lines_come_back_to_themselves_more_often(monkeypatch):
    def groups(lines):
        drawn = [_moves(Unread(lines).draw(Random(seed))) for seed in range(200)]
        return fsum(len(moves) - len(set(moves)) for moves in drawn)

    leant = groups(_lines(copied=False))
    monkeypatch.setattr("bot.music.leant_lines._factor", lambda _: 1.0)
    assert leant > groups(_lines(copied=False)) * 1.2


def _moves(tones):
    moves = [b - a for a, b in pairwise(tones)]
    return list(zip(moves, moves[1:], moves[2:], strict=False))
