"""Music in parts finds the voice step that teaches its way of singing together."""

from dataclasses import replace

import pytest

from bot.music.exercise import Exercise
from bot.music.needs import Kind, needs
from bot.music.parts import PART_RANGES, part_lines
from bot.music.sequence import Track
from bot.music.texture import parts_needed, texture_of
from bot.music.texture_found import texture_step
from bot.music.tonicsolfa import exercise_from_tonicsolfa
from bot.music.voice import Voice
from tests.music.levels import level, steps_first

_ORDER = steps_first()
_TOP = "KEY F. |d :r !m :f |s :- !s :- |m :f !m :r |d :- !- :- ||"


def _name(exercise: Exercise) -> str | None:
    step = texture_step(exercise, _ORDER)
    return None if step is None else _ORDER.step(step).element.texture


def _parts(*lines):
    return exercise_from_tonicsolfa("\n".join(lines))


@pytest.mark.parametrize("voice", [Voice.TREBLE, Voice.CHANGING])
@pytest.mark.parametrize(
    "step", [s for s in _ORDER.track(Track.VOICE) if s.element.texture != "unison"]
)
def test_what_is_composed_at_a_voice_step_is_found_there(step, voice):
    full = level(step.id)
    ranges = PART_RANGES[voice, parts_needed(texture_of(full))]
    exercise = part_lines(_ORDER, full, ranges, seed=4).exercise
    ids = [each.id for each in _ORDER.track(Track.VOICE)]
    found = texture_step(exercise, _ORDER)
    assert found in ids[: ids.index(step.id) + 1]
    # A held tone is the plainest figure of all, and belongs where figures are learned.
    assert found == step.id or step.element.texture in ("pedal", "unlike rhythm")


@pytest.mark.parametrize(
    ("lower", "texture"),
    [
        ("KEY F. |d :t_ !d :r |m :- !m :- |d :r !d :t_ |d :- !- :- ||", "thirds and sixths"),
        ("KEY F. |d :- !d :- |m :- !m :- |d :- !d :- |d :- !- :- ||", "unlike rhythm"),
        ("KEY F. |d :s_ !d :s_ |d :s_ !d :s_ |d :s_ !d :s_ |d :- !- :- ||", "ostinato"),
        ("KEY F. |d :f_ !d :f_ |d :f_ !d :f_ |d :f_ !d :f_ |d :- !- :- ||", "unlike rhythm"),
        ("KEY F. | : ! : | : ! : |d :r !m :f |s :- !s :- ||", "canon"),
        ("KEY F. | : ! : | : ! : |d :r !m :f |s :- !m :- ||", "unlike rhythm"),
    ],
)
def test_parts_written_by_hand_are_told_apart(lower, texture):
    assert _name(_parts(_TOP, lower)) == texture


def test_three_parts_are_three_parts():
    assert _name(_parts(_TOP, _TOP, _TOP)) == "three parts"


def test_a_piece_in_parts_needs_its_voice_step_and_a_line_alone_the_first():
    low = "KEY F. |d :t_ !d :r |m :- !m :- |d :r !d :t_ |d :- !- :- ||"
    both = _parts(_TOP, low)
    found = needs(both, _ORDER)
    (atom,) = [atom for atom in found.pushing if atom.track is Track.VOICE]
    assert (atom.kind, atom.what, atom.step) == (Kind.PARTS, "2", found.voice)
    assert _ORDER.step(found.voice).element.texture == "thirds and sixths"
    alone = replace(both, parts=both.parts[:1])
    assert needs(alone, _ORDER).voice == _ORDER.lowest(Track.VOICE).id


def test_an_order_without_a_way_of_singing_together_does_not_place_it():
    unison = replace(
        _ORDER, steps=tuple(s for s in _ORDER.steps if s.id[0] != "v" or s.id == "v01")
    )
    both = _parts(_TOP, "KEY F. |d :- !d :- |m :- !m :- |d :- !d :- |d :- !- :- ||")
    assert texture_step(both, unison) is None
    assert [atom.kind for atom in needs(both, unison).beyond] == [Kind.PARTS]
