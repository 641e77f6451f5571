"""Needs analysis: the lowest steps that hold a line, and what pushes it there."""

import pytest

from bot.music.cell import cell_notes
from bot.music.exercise import Note, Tone
from bot.music.needs import Kind, needs
from bot.music.rhythm import Metre
from bot.music.sequence import Track
from bot.music.tiling import tile
from tests.music.levels import steps_first
from tests.music.lines import line

_S = steps_first()


def _needs(text, **more):
    return needs(line(text, **more), _S)


@pytest.mark.parametrize(
    ("text", "metre", "pitch", "rhythm"),
    [
        ("do:q re:q mi:h | re:h do:h", "4/4", "p01", "r01"),
        ("do:q mi:q re:h | do:w", "4/4", "p02", "r02"),
        ("do:q r:q mi:q so:q | mi:h do:h", "4/4", "p03", "r03"),
        ("do:h so:h | mi:q mi:e mi:e do:h", "4/4", "p04", "r04"),
        ("mi:q fa:q so:q | do:h.", "3/4", "p05", "r05"),
        ("so:q la:q | so:h", "2/4", "p06", "r06"),
        ("do:q ti,:q r:h | do:w", "4/4", "p07", "r07"),
        ("so,:h do:h | r:w", "4/4", "p08", "r08"),
        ("ti,:q. la,:e so,:h", "4/4", "p09", "r09"),
        ("do':h ti:q ti:e r:e", "4/4", "p10", "r10"),
        ("so:e ti:q la:e so:h", "4/4", "p11", "r13"),
        ("la:s so:s fa:s la:s so:q", "2/4", "p12", "r14"),
        ("re:e fa:s mi:s re:q", "2/4", "p13", "r15"),
        ("re:e. so:s re:q", "2/4", "p14", "r16"),
        ("so,:h mi:h", "4/4", "p15", "r01"),
    ],
)
def test_a_line_needs_the_step_that_brings_its_hardest_thing(text, metre, pitch, rhythm):
    found = _needs(text, metre=metre)
    assert (found.pitch, found.rhythm, found.voice, found.beyond) == (pitch, rhythm, "v01", ())


def test_what_pushes_a_line_up_is_named_with_measure_and_beat():
    found = _needs("do:q re:q mi:h | mi:q so:q so:h | do':q. so:e mi:q re:q | do:w")
    pushing = [(atom.kind, atom.what, atom.measure, atom.beat) for atom in found.pushing]
    assert (Kind.SKIP, "do'-so", 3, 2.5) in pushing
    assert (Kind.CELL, "q. e", 3, 1) in pushing
    assert found.pitch == "p14"


def test_what_a_track_begins_with_pushes_nothing():
    assert _needs("do:q re:q mi:h | re:h do:h").pushing == ()


@pytest.mark.parametrize(
    ("text", "more", "kind", "what"),
    [
        ("do:h di:h", {}, Kind.TONE, "di"),
        ("do:q re:h mi:q", {}, Kind.CELL, "h"),
        ("do:h~ do:h", {}, Kind.TIE, ""),
        ("do:h. re:h | mi:h.", {}, Kind.BARLINE, ""),
        ("do:q re:q mi:h", {"pickup": "so,:e"}, Kind.PICKUP, "1/8"),
        ("do:q. re:q.", {"metre": "12/8"}, Kind.METRE, "12/8"),
    ],
)
def test_what_no_step_brings_is_beyond_the_sequence(text, more, kind, what):
    found = _needs(text, **more)
    assert (kind, what) in [(atom.kind, atom.what) for atom in found.beyond]


def test_a_tie_over_the_bar_line_is_named_with_its_place():
    found = _needs("do:h re:q mi:q~ | mi:h re:h")
    pushing = [(atom.step, atom.kind, atom.measure, atom.beat) for atom in found.pushing]
    assert pushing == [("r21", Kind.HELD, 1, 4)]
    beyond = _needs("do:h re:q mi:e re:e~ | re:h do:h").beyond
    assert [(atom.kind, atom.measure, atom.beat) for atom in beyond] == [(Kind.HELD, 1, 4.5)]


def test_a_seventh_is_beyond_the_sequence():
    found = _needs("do:h ti:h | do':w")
    assert [(atom.kind, atom.what) for atom in found.beyond] == [(Kind.SKIP, "do-ti")]


def test_the_rest_of_a_line_is_placed_although_something_is_beyond():
    found = _needs("do:q re:h mi:q | fa:h mi:h | re:e mi:e re:q do:h")
    assert (found.pitch, found.rhythm) == ("p05", "r04")
    assert found.beyond[0].measure == 1


def test_a_tied_note_is_one_tone():
    found = _needs("so:h~ so:q mi:q | do:w")
    assert [atom.what for atom in found.atoms if atom.kind is Kind.TONE] == ["so", "mi", "do"]


def test_a_rhythm_is_covered_by_the_earliest_steps_that_can():
    cells = [
        (cell, number)
        for number, s in enumerate(_S.track(Track.RHYTHM))
        for cell in s.element.cells
    ]
    notes = [Note(duration=note.duration, tone=Tone(step=0)) for note in cell_notes("q. e e e")]
    tiles = tile(notes, 0 * notes[0].duration, Metre(), cells)
    assert [each.text for each in tiles] == ["q. e", "e e"]


@pytest.mark.parametrize("text", ["do:e r:e re:q mi:h", "r:q re:q mi:h", "r:h re:q mi:q"])
def test_a_beat_that_is_known_is_known_anywhere_in_the_measure(text):
    assert not _needs(text).beyond


def test_only_the_beats_that_no_cell_covers_are_unknown():
    found = _needs("do:q re:q mi:e re:q. | do:w")
    unknown = [(atom.what, atom.beat) for atom in found.beyond if atom.kind is Kind.CELL]
    assert unknown == [("e q.", 3)]


def test_minor_and_altered_tones_need_the_steps_that_bring_them():
    assert _needs("la,:h do:h", key="d minor").pitch == "p16"
    assert _needs("la,:h si,:h", key="d minor").pitch == "p17"
    assert _needs("so:h fi:h").pitch == "p18"
    assert _needs("la:h te:h").pitch == "p19"


def test_pickups_ties_and_metres_need_the_steps_that_bring_them():
    assert _needs("do:q re:q mi:h", pickup="so,:q").rhythm == "r11"
    assert _needs("do:h~ do:e re:e mi:q").rhythm == "r12"
    assert _needs("do:h re:q mi:q~ | mi:q re:q do:h").rhythm == "r21"
    assert _needs("do:q. re:q.", metre="6/8").rhythm == "r17"
    assert _needs("do:q re:e mi:e fa:e so:e", metre="6/8").rhythm == "r19"
    assert _needs("do:h re:q mi:q", metre="cut").rhythm == "r20"
