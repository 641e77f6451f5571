"""Turns of four tones by hand."""

from bot.music.shapes import TURNS, turns


def test_each_step_ends_the_turn_that_the_last_three_began():
    found = {step: name for name, step in turns((9, 0, 2, 2), range(-2, 6))}
    assert found[2] == "skip up, repeat, repeat"
    assert found[1] == "skip up, repeat, step down"
    assert found[-2] == found[0] == "skip up, repeat, skip down"
    assert found[4] == found[5] == "skip up, repeat, skip up"


def test_two_tones_begin_no_turn():
    assert not list(turns((0, 1), (0, 1, 2)))


def test_every_turn_has_a_name_of_its_own():
    names = [name for row in TURNS.values() for name in row]
    assert len(set(names)) == len(names) == 125
