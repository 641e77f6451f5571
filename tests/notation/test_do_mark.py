"""The mark that says where do is: beside its line or space, in the choir's own word."""

import numpy as np
import pytest

from bot.music.voice import Clef
from bot.notation.engrave import EngravingStyle, png, svg
from bot.notation.write import musicxml
from tests.notation.lines import exercise
from tests.notation.pixels import ink, staves

FOUR = "0:q 1:q 2:h 2:q 3:e 2:e 4:h 4:q 2:q 3:q 1:q 0:hd r:q"
EIGHT = f"{FOUR} 2:q 2:e 3:e 4:q 2:q 4:q 5:q 4:h 3:q 2:q 1:q 2:q 0:w"


def write(made, *clefs, labels=()):
    return musicxml(made, clefs=clefs or (Clef.TREBLE,) * len(made.parts), labels=labels)


def draw(made, style=None, *clefs, labels=()):
    return svg(write(made, *clefs, labels=labels), style)


@pytest.mark.parametrize(
    ("key", "octave", "clef", "position"),
    [
        ("F", 4, Clef.TREBLE, 1),
        ("C", 4, Clef.TREBLE, -2),
        ("Bb", 3, Clef.TREBLE, -3),
        ("D", 4, Clef.TREBLE, -1),
        ("Eb", 4, Clef.TREBLE, 0),
        ("F", 3, Clef.TREBLE8, 1),
        ("Bb", 2, Clef.BASS, 2),
        ("F", 3, Clef.BASS, 6),
        ("D minor", 4, Clef.TREBLE, 1),
        # Far below or above the staff it points at the do that lies on it.
        ("F", 3, Clef.TREBLE, 1),
        ("A", 3, Clef.TREBLE, 3),
        ("G", 4, Clef.BASS, 7),
    ],
)
def test_the_do_mark_points_at_the_line_or_space_of_do(key, octave, clef, position):
    made = exercise(key, "4/4", FOUR, octaves=(octave,))
    painted = png(draw(made, EngravingStyle(measure_numbers=False), clef))
    assert pointed_at(painted) == pytest.approx(position, abs=0.15)


def test_a_choir_that_calls_the_tonic_of_minor_do_sees_the_mark_there():
    made = exercise("D minor", "4/4", "-2:q -1:q 0:h 2:h 0:h -1:h 2:h -2:w")
    style = EngravingStyle(do_is_tonic=True, measure_numbers=False)
    assert pointed_at(png(draw(made, style))) == pytest.approx(-1, abs=0.15)


def pointed_at(painted):
    """Staff position of the tip of the wedge left of the first staff."""
    dark, staff = ink(painted), staves(painted)[0]
    space = staff.height / 4
    near = dark[:, : staff.left - 2]
    tip = np.flatnonzero(near.any(axis=0))[-1]
    assert staff.left - tip < space
    return staff.position(float(np.flatnonzero(near[:, tip]).mean()))


def test_the_do_mark_stands_before_every_system_and_can_be_taken_away():
    made = exercise("F", "4/4", EIGHT)
    marked, bare = (
        png(draw(made, EngravingStyle(mark_do=shown, measure_numbers=False)))
        for shown in (True, False)
    )
    for painted, expected in ((marked, True), (bare, False)):
        dark = ink(painted)
        for staff in staves(painted):
            rows = slice(round(staff.lines[0]), round(staff.lines[-1] + staff.height / 2))
            assert dark[rows, : staff.left - 2].any() == expected


def test_the_mark_is_written_in_the_choirs_own_word():
    made = exercise("F", "4/4", FOUR)
    assert draw(made, EngravingStyle(do_name="1")) != draw(made, EngravingStyle(do_name="do"))
