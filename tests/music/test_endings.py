"""What stands near the ends of phrases, by hand."""

import pytest

from bot.music.endings import ENDINGS, Endings
from bot.music.skeleton import Skeleton, Spot

_STEPS = (-3, 0, 1, 2, 3)
_WHOLE, _HALF = 96, 48


def _lengths(*measures):
    """Two phrases of four measures; each measure has so many equal notes."""
    spots = [
        Spot(bar, note * _WHOLE // count, _WHOLE // count)
        for bar, count in enumerate(measures)
        for note in range(count)
    ]
    ends = (sum(measures[:4]), len(spots)) if len(measures) == 8 else (len(spots),)
    return Endings(Skeleton(places=(), new=(), phrase_ends=ends, spots=tuple(spots)))


def test_the_last_notes_of_phrases_and_of_their_halves_are_near_an_end():
    endings = _lengths(2, 2, 2, 2, 2, 2, 2, 2)
    assert endings.near == {
        2: (("second measure", 1),), 3: (("second measure", 0),),
        5: (("half", 2),), 6: (("half", 1),), 7: (("half", 0),),
        10: (("second measure", 1),), 11: (("second measure", 0),),
        13: (("last", 2),), 14: (("last", 1),),
    }  # fmt: skip


def test_an_end_reaches_back_no_further_than_its_phrase_and_two_may_meet():
    endings = _lengths(1, 1, 1, 1, 1, 1, 1, 1)
    assert endings.near[0] == (("second measure", 1),)
    assert endings.near[1] == (("half", 2), ("second measure", 0))
    assert min(endings.near) == 0


def test_a_phrase_that_is_not_four_measures_long_has_no_half():
    assert not any(kind == "second measure" for near in _lengths(2, 2, 2).near.values()
                   for kind, _ in near)  # fmt: skip


def test_a_step_near_an_end_has_its_degree_and_its_move():
    found = set(_lengths(2, 2, 2, 2, 2, 2, 2, 2).traits(7, 2, _STEPS))
    assert ("0 before the half: degree 1", 1) in found
    assert ("0 before the half: step down", 1) in found
    assert ("0 before the half: degree 4", -3) in found
    assert ("0 before the half: leap down", -3) in found
    assert ("0 before the half: third down", 0) in found
    assert ("0 before the half: repeat", 2) in found
    assert {name for name, _ in found} <= set(ENDINGS)


@pytest.mark.parametrize("note", [0, 1, 4, 15])
def test_elsewhere_nothing_is_said(note):
    assert not list(_lengths(2, 2, 2, 2, 2, 2, 2, 2).traits(note, 2, _STEPS))
