"""What is composed: right by the checker, the same for the same seed, never what was read."""

from collections import defaultdict
from dataclasses import replace
from itertools import cycle, islice
from random import Random

import pytest

from bot.errors import NoExercise
from bot.music.catalogue import Catalogue
from bot.music.checker import check
from bot.music.composer import Composer, compose
from bot.music.copied_lines import CopiedLines
from bot.music.drawing import Unread
from bot.music.level import level_of
from bot.music.needs import needs
from bot.music.pitch import Key
from bot.music.placement import Placement, tones_within
from bot.music.rhythm import Metre
from bot.music.rhythms import Taken
from bot.music.sequence import Track
from bot.music.step_table import Fit
from bot.music.variants import together
from bot.music.voice import DEFAULT_RANGES, Voice, VoiceRange
from tests.music.levels import TWO_FOUR, level, shipped, shipped_table, steps_first, tiny

# What divides the choir has proofs of its own: test_parts, test_joint, test_room_lines.
_STEPS = [step.id for step in steps_first().steps if step.track is not Track.VOICE]
_WIDE = VoiceRange.parse("C3-C6", "C4-C5")
_F4 = Placement(key=Key.parse("F"), do_octaves=(4,))
# In CI 100 for each of three voices, so 300 at each step.
_CI, _LONG = 100, 10_000


@pytest.fixture(scope="module")
def fits() -> dict[tuple[str, Voice], list[Fit]]:
    """For each step and voice, every key in which the table says that a line is composed."""
    found = defaultdict(list)
    for row in shipped_table():
        for fit in row.fits:
            if len(fit.voices) == 1 and fit.refusal is None:
                found[row.step.id, fit.voices[0]].append(fit)
    return found


@pytest.mark.parametrize("draws", [_CI, pytest.param(_LONG, marks=pytest.mark.long)])
@pytest.mark.parametrize("voice", Voice)
@pytest.mark.parametrize("step", _STEPS)
def test_every_line_keeps_every_rule_in_every_key(step, voice, draws, fits):
    full, limits = level(step), DEFAULT_RANGES[voice]
    keys = fits[step, voice]
    if not keys:
        assert (step, voice) == ("p10", Voice.CHANGING)  # an octave does not go into G3-F4
        return
    composers = {}
    for seed, fit in enumerate(islice(cycle(keys), draws)):
        placement = Placement(key=fit.key, do_octaves=fit.do_octaves)
        tones = tones_within(full, placement, (limits,))
        composer = composers.setdefault(tones, Composer(full, tones))
        exercise = composer.draw(Random(seed)).exercise(fit.key, fit.do_octaves[0])
        assert check(exercise, full, limits) == ()


@pytest.mark.parametrize("draws", [40, pytest.param(_LONG, marks=pytest.mark.long)])
@pytest.mark.parametrize("voice", Voice)
@pytest.mark.parametrize("step", [s.id for s in shipped("two-tones-first").track(Track.PITCH)])
def test_the_other_order_keeps_every_rule_too(step, voice, draws):
    full, limits = level_of(shipped("two-tones-first"), [step]), DEFAULT_RANGES[voice]
    try:
        placement = together(full, (limits,), None)
    except NoExercise as refusal:
        assert refusal.key == "refusal.in_no_key"
        assert (step, voice) in {("p07", Voice.CHANGING), ("p08", Voice.CHANGING)}
        return
    composer = Composer(full, tones_within(full, placement, (limits,)))
    for seed in range(draws):
        line = composer.draw(Random(seed)).exercise(placement.key, placement.do_octaves[0])
        assert check(line, full, limits) == ()


def _pairs():
    """Every fourth pair of a pitch and a rhythm step, so each step; all of them when long."""
    for i, pitch in enumerate(steps_first().track(Track.PITCH)):
        for j, rhythm in enumerate(steps_first().track(Track.RHYTHM)):
            if rhythm.id != "r08" or pitch.id >= "p03":
                if (i + j) % 4 == 0:
                    yield pitch.id, rhythm.id, 2
                yield pytest.param(pitch.id, rhythm.id, 200, marks=pytest.mark.long)


def _place(rhythm):
    return [step.id for step in steps_first().track(Track.RHYTHM)].index(rhythm)


@pytest.mark.parametrize(("pitch", "rhythm", "draws"), list(_pairs()))
def test_a_pair_of_steps_makes_lines_that_need_no_more(pitch, rhythm, draws):
    full = level(pitch, rhythm)
    composer = Composer(full, full.tones)
    for seed in range(draws):
        exercise = composer.draw(Random(seed)).exercise(replace(_F4.key, mode=full.mode), 4)
        needed = needs(exercise, steps_first())
        assert check(exercise, full, None) == ()
        assert not needed.beyond
        assert needed.pitch <= pitch
        assert _place(needed.rhythm) <= _place(rhythm)


@pytest.mark.parametrize(
    "ids",
    ["p05 r01", "p10 r01", "p15 r01", "p01 r09", "p06 r06",
     pytest.param("p01 r16", marks=pytest.mark.long)],
)  # fmt: skip
def test_where_one_thing_is_new_no_rhythm_that_is_drawn_is_without_tones(ids):
    full = level(*ids.split())
    composer = Composer(full, full.tones)
    for frame in composer.frames(None, None):
        for seed in range(3 if frame.rhythms.total else 0):
            path = frame.rhythms.draw(Random(seed), Taken())
            assert composer.lines(frame, path).total > 0


def test_measures_that_a_form_copies_are_the_same_note_for_note():
    full = level("p08", "r04")
    composer = Composer(full, full.tones)
    copied = 0
    for frame in composer.frames(Metre(), 8):
        if not frame.form.copied or not frame.rhythms.total:
            continue
        path = frame.rhythms.draw(Random(1), Taken())
        lines = composer.lines(frame, path)
        if isinstance(lines.inner, CopiedLines):
            copied += 1
            tones = Unread(lines).draw(Random(2))
            measures = frame.line(path)
            motif = sum(measure.notes for measure in measures[: frame.form.copied])
            seam = sum(measure.notes for measure in measures[:4])
            assert tones[:motif] == tones[seam : seam + motif]
    assert copied > 5


# Release, level, placement and seed decide the line; a change here makes every choir's next lines
# different ones and belongs into the changelog.
_GOLDEN = {
    ("p01 r01", 1): "18102ccb19787249973e44e523f300cb",
    ("p02 r02", 2): "9ba17e53af1b58956746e2e46a21e7ff",
    ("p03 r03", 3): "af2f8897d8cdcec446cb84c65178a56e",
    ("p04 r04", 4): "9158d70a34974ee88663d9f4befe428b",
    ("p05 r05", 5): "73675170dd2d5c9731a3f5274ad82399",
    ("p06 r06", 6): "55efe7fd839e6bd49835951b0660069c",
    ("p08 r08", 9223372036854775807): "0000c928d758655f514788d9bef5acdd",
    ("p10 r09", 8): "170ef7c771b18f724cb5f7a7981565a5",
    ("p12 r10", 9): "6ec74dd1420c5bf997eb03b629093449",
    ("p06 r21", 13): "9eaca0569169f90730332dd086ff5a2d",
    ("p13 r13", 10): "e5f114956ffd81fade059b29a3c87e34",
    ("p14 r15", 11): "fa076829dc1c38c5afc03678bc77ed14",
    ("p15 r16", 12): "bf45692eba11923eda36c9afda5a6c55",
}


@pytest.mark.parametrize(("ids", "seed"), list(_GOLDEN))
def test_the_same_seed_gives_the_same_line_on_any_day_and_machine(ids, seed):
    exercise = compose(level(*ids.split()), _F4, (_WIDE,), seed=seed)
    assert exercise.fingerprint() == _GOLDEN[ids, seed]


def test_wishes_for_metre_and_length_are_kept():
    full = level("p05", "r06")
    for metre in (Metre(), Metre.parse("3/4"), TWO_FOUR):
        for measures in (4, 8):
            exercise = compose(full, _F4, (_WIDE,), metre=metre, measures=measures, seed=1)
            assert (exercise.metre, exercise.measures) == (metre, measures)


def test_a_new_metre_comes_where_nobody_asks_for_another():
    for seed in range(20):
        assert compose(level("p05", "r06"), _F4, (_WIDE,), seed=seed).metre == TWO_FOUR


def test_metre_and_length_vary_where_none_is_new():
    drawn = [compose(level("p05", "r09"), _F4, (_WIDE,), seed=seed) for seed in range(40)]
    assert {str(exercise.metre) for exercise in drawn} == {"2/4", "3/4", "4/4"}
    assert {exercise.measures for exercise in drawn} == {4, 8}


def test_a_small_level_is_read_to_its_end_without_a_repeat_and_then_refused():
    full = tiny("steps")
    seen = []
    size = Catalogue(Composer(full, full.tones), TWO_FOUR, 4).size
    for seed in range(size):
        seen.append(compose(full, _F4, (_WIDE,), seed=seed, seen=seen))

    assert len({exercise.fingerprint() for exercise in seen}) == size
    with pytest.raises(NoExercise) as refusal:
        compose(full, _F4, (_WIDE,), seed=0, seen=seen)
    assert (refusal.value.key, refusal.value.values) == ("refusal.all-read", {"count": size})


def test_what_was_read_in_another_key_and_octave_does_not_come_again():
    full = tiny("skip")
    size = Catalogue(Composer(full, full.tones), TWO_FOUR, 4).size
    seen = []
    for seed in range(size):
        exercise = compose(full, _F4, (_WIDE,), seed=seed, seen=seen)
        seen.append(exercise.in_key(Key(fifths=seed % 7 - 3), (3 + seed % 2,)))
    assert len({exercise.fingerprint() for exercise in seen}) == size


def test_what_was_read_at_other_levels_changes_nothing():
    full = tiny("steps")
    others = [compose(level("p09", "r09"), _F4, (_WIDE,), seed=seed) for seed in range(30)]
    for seed in range(20):
        alone = compose(full, _F4, (_WIDE,), seed=seed)
        assert compose(full, _F4, (_WIDE,), seed=seed, seen=others) == alone


def test_when_one_length_is_used_up_the_others_go_on():
    full = tiny("two phrases")
    both = replace(full, conditions=replace(full.conditions, measures=((4, 5), (8, 1))))
    composer = Composer(both, both.tones)
    short = Catalogue(composer, TWO_FOUR, 4)
    seen = [short.line(n).exercise(_F4.key, 4) for n in range(short.size)]

    assert compose(both, _F4, (_WIDE,), seed=3, seen=seen).measures == 8
    with pytest.raises(NoExercise, match="all-read"):
        compose(both, _F4, (_WIDE,), seed=3, seen=seen, measures=4)


@pytest.mark.parametrize(
    ("ids", "wish", "refused", "values"),
    [
        ("p05 r01", {"metre": TWO_FOUR}, "refusal.metre", {"metre": "2/4", "known": "4/4"}),
        ("p01 r01", {"measures": 8}, "refusal.measures", {"measures": 8, "known": "4"}),
        ("p05 r07", {"metre": Metre.parse("6/8")}, "refusal.metre", {"metre": "6/8"}),
        ("p05 r07", {"metre": TWO_FOUR, "measures": 2}, "refusal.measures", {"measures": 2}),
        ("p05 r08", {"metre": TWO_FOUR, "measures": 4}, "refusal.new_in_metre", {"known": "4/4"}),
        (
            "p05 r07",
            {"metre": Metre.parse("3/4")},
            "refusal.new_in_metre",
            {"step": "r07", "name": "half rest", "metre": "3/4", "known": "4/4"},
        ),
        (
            "p05 r08",
            {"measures": 4},
            "refusal.new_in_length",
            {"step": "r08", "name": "whole rest", "measures": 4, "known": "8"},
        ),
        (
            "p05 r20",
            {"metre": Metre.parse("2/2")},
            "refusal.metre",
            {"known": "4/4, 3/4, 2/4, 6/8, cut"},
        ),
    ],
)
def test_an_impossible_wish_is_refused_with_its_rule(ids, wish, refused, values):
    with pytest.raises(NoExercise) as refusal:
        compose(level(*ids.split()), _F4, (_WIDE,), seed=1, **wish)
    assert refusal.value.key == refused
    assert values.items() <= refusal.value.values.items()


def test_a_voice_that_misses_the_newest_tone_is_refused_by_its_limits():
    narrow = VoiceRange.parse("F4-C5", "G4-B4")
    with pytest.raises(NoExercise) as refusal:
        compose(level("p06"), _F4, (narrow,), seed=1)
    assert refusal.value.key == "refusal.range"
    assert refusal.value.values == {
        "tone": "la", "in_key": "F major", "low": "F4", "high": "C5",
    }  # fmt: skip


def test_tones_out_of_a_voices_range_are_left_out_of_its_lines():
    narrow = VoiceRange.parse("F4-C5", "G4-B4")
    for seed in range(30):
        exercise = compose(level("p07"), Placement(key=Key.parse("G"), do_octaves=(4,)),
                           (narrow,), seed=seed)  # fmt: skip
        assert check(exercise, level("p07"), narrow) == ()
