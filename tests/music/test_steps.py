"""The order of steps as it is shipped, and levels made of it."""

from itertools import pairwise

import pytest

from bot.errors import InputProblems
from bot.music.level import level_of
from bot.music.needs import needs
from bot.music.pitch import Mode
from bot.music.rhythm import Metre
from bot.music.sequence import Kind, Track
from bot.music.step_file import parse_sequences
from bot.music.syllable import spoken, tone_of, word_of
from tests.music.levels import FOLDER, level, shipped, steps_first
from tests.music.lines import line

_SEQUENCE = steps_first()
_SHIPPED = ("steps-first", "two-tones-first")


def _pairs(track):
    return [
        pytest.param(shipped(name), a, b, id=f"{name} {b.id}")
        for name in _SHIPPED
        for a, b in pairwise(shipped(name).track(track))
    ]


@pytest.mark.parametrize(("order", "before", "step"), _pairs(Track.PITCH))
def test_a_pitch_step_adds_one_thing(order, before, step):
    old, new = level_of(order, [before.id]), level_of(order, [step.id])
    # A tone may rest for some steps, as so does in harmonic minor, and is not new afterwards.
    known = {tone for each in order.up_to(before) for tone in level_of(order, [each.id]).tones}
    tones = {tone for tone in new.tones if tone not in known}
    skips = new.skips - old.skips
    degrees = {(tone.step % 7, tone.alter) for tone in (*known, *step.element.tones)}
    match step.element.kind:
        case Kind.TONE:
            # Beside the new tone only octaves of known degrees, and the one skip that leads there.
            assert len([t for t in tones if t not in step.element.through]) == 1
            assert {(t.step % 7, t.alter) for t in step.element.through} <= degrees
            assert len(skips) <= 1
        case Kind.SKIP:
            assert (len(skips), tones) == (1, set())
        case Kind.CHORD:
            assert tones == set()
            # The thirds of one triad, both of them or the one that is not known by name.
            sung = {tone.step % 7 for skip in skips for tone in skip}
            assert sung <= {4, 6, 1} or sung <= {3, 5, 0}
            assert {b.step - a.step for a, b in skips} == {2}
        case Kind.INTERVALS:
            assert tones == set()
            assert skips
        case Kind.MODE:
            assert (old.mode, new.mode) == (Mode.MAJOR, Mode.MINOR)
            assert (tones, skips) == (set(), set())
        case kind:
            pytest.fail(f"a pitch step adds {kind}")
    assert (new.cells, new.metres) == (old.cells, old.metres)


@pytest.mark.parametrize(("order", "before", "step"), _pairs(Track.RHYTHM))
def test_a_rhythm_step_adds_one_thing(order, before, step):
    old, new = level_of(order, [before.id, "p05"]), level_of(order, [step.id, "p05"])
    cells = [cell for cell in new.cells if cell not in old.cells]
    metres = [metre for metre in new.metres if metre not in old.metres]
    match step.element.kind:
        case Kind.CELLS:
            # One cell, or the two orders of one.
            assert len({tuple(sorted(cell.text.split())) for cell in cells}) == 1
            assert metres == []
        case Kind.METRE:
            # A metre, the note that fills its measure, and that of its beat where it is new.
            assert len(metres) == 1
            metre = metres[0][0]
            assert {cell.duration for cell in cells} <= {metre.measure, metre.pulse}
            assert all(len(cell.notes) == 1 for cell in cells)
        case Kind.PICKUP:
            assert (cells, metres) == ([], [])
            assert old.pickup is None
            assert new.pickup.text in {cell.text for cell in old.cells}
        case Kind.HELD:
            assert (cells, metres) == ([], [])
            assert old.held == ()
            assert {cell.text for cell in new.held} <= {cell.text for cell in old.cells}
        case kind:
            pytest.fail(f"a rhythm step adds {kind}")
    assert (new.tones, new.skips) == (old.tones, old.skips)


def test_the_tracks_come_in_the_order_of_published_criteria():
    # Steps, then skips in I, tones around them, the octave, then V before IV, other thirds, fourths
    # and fifths, sixths and the octave; minor before its si; fi and te last. Unison before parts.
    pitch = [
        "do re mi by step", "the skip do-mi", "so, by the skip mi-so",
        "the skip do-so: the tonic triad", "fa by step", "la by step", "low ti by step",
        "low so, by the skip so-do", "low la by step", "high do, by step from ti",
        "thirds in V: so-ti and ti-re", "thirds in IV: fa-la and la-do",
        "every other third: re-fa", "fourths and fifths", "sixths and the octave",
        "minor, natural: home is la", "si by step: harmonic minor", "fi by step", "te by step",
    ]  # fmt: skip
    rhythm = [
        "q h", "w", "rq", "e e", "3/4", "2/4", "rh", "rw", "q. e", "re e, e re", "pickup", "h~ e e",
        "held", "e q e", "s s s s", "e s s, s s e", "e. s", "6/8", "e e e", "q e", "2/2",
    ]  # fmt: skip
    parts = ["unison", "echo", "ostinato", "pedal", "canon"]
    parts += ["thirds and sixths", "unlike rhythm", "three parts"]
    assert [step.name for step in _SEQUENCE.track(Track.PITCH)] == pitch
    for name in _SHIPPED:
        order = shipped(name)
        assert [_newest(step) for step in order.track(Track.RHYTHM)] == rhythm
        assert [step.element.texture for step in order.track(Track.VOICE)] == parts


def _newest(step):
    element = step.element
    if element.kind is not Kind.CELLS:
        return str(element.metre or element.kind.value)
    texts = [cell.text for cell in element.cells]
    return " ".join(texts) if len(texts) > 1 and texts[0] == "q" else ", ".join(texts)


def test_texas_lists_no_skip_that_the_first_chord_steps_leave_out():
    # University Interscholastic League (Texas), level I: do-mi, mi-sol, do-low sol in I; fa-la and
    # do-low la in IV; ti-re and sol-ti in V. All of them and do-so stand here by step p12.
    listed = ["do-mi", "mi-so", "so,-do", "fa-la", "la,-do", "ti,-re", "so-ti"]
    skips = {f"{word_of(a)}-{word_of(b)}" for a, b in level("p12").skips}
    assert set(listed) <= skips
    assert skips - set(listed) == {"do-so", "so,-ti,", "la-do'"}


def test_florida_exercise_two_is_held_by_three_four_and_the_tonic_triad():
    # Florida Vocal Association, middle school, exercise 2: steps, repeats and tonic-triad skips in
    # 3/4 with quarter, half, dotted half and quarter rest.
    full = level("p04", "r05")
    assert Metre.parse("3/4") in [metre for metre, _ in full.metres]
    assert {"q", "h", "h.", "rq"} <= {cell.text for cell in full.cells}


def test_classes_from_the_two_tone_order_meet_their_tones_in_its_order():
    order = shipped("two-tones-first")
    brought = [step.element.tones for step in order.track(Track.PITCH) if step.element.tones]
    words = [" ".join(map(word_of, tones)) for tones in brought]
    assert words[:9] == ["mi so", "la", "do", "re", "la,", "so,", "do'", "fa", "ti,"]
    assert level_of(order, ["p02"]).conditions.end == tone_of("mi")
    assert level_of(order, ["p03"]).conditions.end == tone_of("do")


@pytest.mark.parametrize("name", _SHIPPED)
def test_measures_come_back_only_once_the_triad_is_secure_and_few_tones_stay_short(name):
    order = shipped(name)
    for step in order.track(Track.PITCH):
        full = level_of(order, [step.id])
        triad = {("do", "mi"), ("mi", "so"), ("do", "so")}
        known = {(word_of(a), word_of(b)) for a, b in full.skips}
        assert triad <= known or not any(form.copied for form in full.forms)
        assert len(full.tones) > 3 or full.measures == (4,)


@pytest.mark.parametrize("name", _SHIPPED)
def test_dots_come_before_single_eighths_or_after_as_the_choir_chooses(name):
    before, after = parse_sequences((FOLDER / f"{name}.toml").read_text(encoding="utf-8"), name)
    assert (before.id, after.id) == (name, f"{name}-dots-later")
    assert {step.id for step in before.steps} == {step.id for step in after.steps}
    assert before.track(Track.PITCH) == after.track(Track.PITCH)
    steps = [step.id for step in after.track(Track.RHYTHM)]
    assert steps.index("r10") + 1 == steps.index("r09")
    assert "q. e" not in {cell.text for cell in level_of(after, ["r10"]).cells}
    assert {"q. e", "e re"} <= {cell.text for cell in level_of(after, ["r09"]).cells}
    assert needs(line("do:q. re:e mi:h"), after).rhythm == "r09"
    assert needs(line("do:q re:e r:e mi:h"), after).rhythm == "r10"


def test_lines_of_three_tones_stay_at_four_measures():
    assert level("p01").measures == level("p02").measures == (4,)
    assert level("p03").measures == (4, 8)


def test_measures_come_back_note_for_note_only_once_the_triad_is_complete():
    assert not any(form.copied for form in level("p03").forms)
    assert any(form.copied for form in level("p04").forms)


def test_a_track_that_is_not_named_takes_its_lowest_step():
    assert level_of(_SEQUENCE, ["r04"]).steps == ("p01", "r04", "v01")
    assert level_of(_SEQUENCE, []).steps == ("p01", "r01", "v01")


def test_a_track_that_is_not_named_rises_to_what_another_step_requires():
    assert level_of(_SEQUENCE, ["r08"]).steps == ("p03", "r08", "v01")


def test_every_fault_in_a_choice_of_steps_is_named():
    with pytest.raises(InputProblems) as problems:
        level_of(_SEQUENCE, ["p05", "p06", "x01", "p01"])
    assert [fault.place for fault in problems.value.faults] == ["p06", "x01", "p01"]


def test_a_step_below_what_another_requires_is_a_fault():
    with pytest.raises(InputProblems, match="r08: requires p03, and the choir is at p02"):
        level_of(_SEQUENCE, ["p02", "r08"])


def test_half_the_count_is_asked_of_four_measures():
    focus = level("p05").pitch_focus
    assert (focus.needed(8), focus.needed(4)) == (3, 2)


@pytest.mark.parametrize("word", ["do", "so,", "la,,", "do'", "fi", "te", "si,"])
def test_tones_come_back_from_their_words(word):
    assert word_of(tone_of(word)) == word


@pytest.mark.parametrize("word", ["", "d", "doh", "do',", "do,'", "DO", "ray"])
def test_what_is_no_tone_is_refused(word):
    with pytest.raises(ValueError, match="is no tone"):
        tone_of(word)


def test_tones_are_spoken_with_their_octave():
    assert [spoken(tone_of(word)) for word in ("so,", "mi", "do'")] == ["low so", "mi", "high do"]
