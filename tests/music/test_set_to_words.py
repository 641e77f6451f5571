"""Lines set to words: one note a syllable, stress where it belongs, every rule of the step kept."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.errors import NoExercise
from bot.music.checker import check
from bot.music.exercise_json import exercise_from_json, exercise_to_json
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.sequence import Track
from bot.music.set_to_words import set_to_words, with_words
from bot.music.shared_ground import shared_ground
from bot.music.syllable import word_of
from bot.music.voice import DEFAULT_RANGES, Voice
from bot.music.words import Stress, Syllable, Words
from bot.notation.pronouncing import sung_words
from tests.music.levels import TWO_FOUR, level, steps_first

_TREBLE = (DEFAULT_RANGES[Voice.TREBLE],)
_STAR = "Twinkle, twinkle, little star / how I wonder what you are"
_BOAT = "Lanterns on the river / floating far away"


def _set(text, *ids, ranges=_TREBLE, **wish):
    words = text if isinstance(text, Words) else sung_words(text).words
    wish.setdefault("seed", 1)
    return set_to_words(steps_first(), level(*ids), ranges, words, **wish)


def _strengths(exercise):
    return [
        exercise.metre.strength(offset)
        for offset, note in exercise.parts[0].timed()
        if note.tone is not None
    ]


def words_of(stresses, ends):
    """Invented words: a syllable a word, stressed as asked, lines ending after these counts."""
    row = [Syllable(text="la", stress=Stress(each), word="la") for each in stresses]
    cuts = [0, *ends, len(row)]
    return Words(lines=tuple(tuple(row[a:b]) for a, b in pairwise(cuts)))


@pytest.mark.parametrize("ids", ["p01 r01", "p03 r03", "p05 r04", "p07 r05", "p09 r09", "p12 r10"])
@pytest.mark.parametrize("text", [_STAR, _BOAT])
def test_a_line_keeps_every_rule_of_its_step_and_has_a_note_for_each_syllable(ids, text):
    for seed in range(2):
        sung = _set(text, *ids.split(), seed=seed)
        exercise = sung.exercise
        assert check(exercise, sung.level, _TREBLE[0]) == ()
        part = exercise.parts[0]
        assert len(part.tones()) == len(sung.words.syllables) == len(part.words)
        assert "".join(part.words).replace("-", "") == "".join(
            syllable.text for syllable in sung.words.syllables
        )


@pytest.mark.long
@pytest.mark.parametrize("rhythm", [step.id for step in steps_first().track(Track.RHYTHM)])
@pytest.mark.parametrize("pitch", [step.id for step in steps_first().track(Track.PITCH)])
def test_words_are_set_at_every_pair_of_steps(pitch, rhythm):
    if rhythm == "r08" and pitch < "p03":
        return  # a silent measure needs more than four around it
    for seed, text in enumerate((_STAR, _BOAT, "The boat goes down the stream at night")):
        sung = _set(text, pitch, rhythm, seed=seed)
        assert check(sung.exercise, sung.level, _TREBLE[0]) == ()
        assert len(sung.exercise.parts[0].words) == len(sung.words.syllables)


def test_a_well_known_verse_gets_the_rhythm_that_everybody_sings():
    sung = _set(_STAR, "p05", "r01", metre=Metre(), measures=4)
    quarter = Fraction(1, 4)
    lengths = [note.duration for note in sung.exercise.parts[0].notes]
    assert lengths == ([quarter] * 6 + [2 * quarter]) * 2
    assert sung.bent == ()


def test_no_stressed_syllable_is_weaker_than_its_unstressed_neighbour_where_that_can_be():
    for text in (_STAR, _BOAT, "Down the winding staircase, quiet as the snow"):
        sung = _set(text, "p05", "r04")
        assert sung.bent == ()
        strengths, syllables = _strengths(sung.exercise), sung.words.syllables
        ends = set(sung.words.line_ends)
        for at in range(1, len(syllables)):
            pair = {syllables[at - 1].stress, syllables[at].stress}
            if at in ends or pair != {Stress.NONE, Stress.FULL}:
                continue
            stressed = at if syllables[at].stress is Stress.FULL else at - 1
            other = 2 * at - 1 - stressed
            assert strengths[stressed] >= strengths[other]


@settings(max_examples=15, deadline=None)
@given(st.data())
def test_whatever_the_words_the_line_is_right_or_refused(data):
    stresses = data.draw(st.lists(st.integers(0, 2), min_size=2, max_size=20))
    ends = sorted(data.draw(st.sets(st.integers(1, len(stresses) - 1), max_size=2)))
    words = words_of(stresses, ends)
    first = data.draw(st.sampled_from([None, "do", "mi", "so", "la"]))
    try:
        rhythm = data.draw(st.sampled_from(["r04", "r11"]))
        sung = _set(words, "p06", rhythm, first=first, seed=data.draw(st.integers(0, 9)))
    except NoExercise as refused:
        assert refused.key.startswith("refusal.words_")
        return
    assert check(sung.exercise, sung.level, _TREBLE[0]) == ()
    assert len(sung.exercise.parts[0].tones()) == len(stresses)
    if first:
        assert word_of(sung.exercise.parts[0].tones()[0]).strip("',") == first
    silent = [note.tone is None for note in sung.exercise.parts[0].notes]
    sounding = iter(range(len(stresses)))
    last = -1
    for rest in silent:
        if rest:  # only where singers breathe
            assert last + 1 in words.line_ends
        else:
            last = next(sounding)


def test_a_line_begins_on_the_syllable_that_is_asked_for():
    for first in ("do", "re", "mi", "so", "la"):
        tones = _set(_BOAT, "p09", "r04", first=first).exercise.parts[0].tones()
        assert word_of(tones[0]).strip(",'") == first
    tones = _set(_BOAT, "p09", "r04", first="so,").exercise.parts[0].tones()
    assert word_of(tones[0]) == "so,"


def test_lines_end_as_phrases_do_and_nothing_stands_behind_but_what_leads_in():
    sung = _set("Softly shut the door / and nobody must hear us", "p05", "r04", measures=4)
    part = sung.exercise.parts[0]
    end = sung.words.line_ends[0] - 1
    notes = [(offset, note) for offset, note in part.timed() if note.tone is not None]
    assert notes[end][1].duration >= Fraction(1, 4)
    begins = notes[end + 1][0] % sung.exercise.metre.measure
    assert begins == 0 or begins * 2 >= sung.exercise.metre.measure


def test_an_unstressed_opening_leads_in_before_the_bar_where_the_step_has_a_pickup():
    verse = "The boat goes down the silent stream / and all the lanterns glow"
    for ids in (("p05", "r11"), ("p09", "r11")):
        for seed in range(4):
            sung = _set(verse, *ids, seed=seed, metre=Metre(), measures=4)
            exercise = sung.exercise
            assert exercise.pickup == Fraction(1, 4)
            assert check(exercise, sung.level, _TREBLE[0]) == ()
            assert sung.bent == ()
            assert exercise_from_json(exercise_to_json(exercise)) == exercise
        plain = _set(_STAR, *ids, measures=4)
        assert plain.exercise.pickup == 0
        assert check(plain.exercise, plain.level, _TREBLE[0]) == ()
    eight = _set(
        verse + " / the night is long, the water deep / and home is far to go", "p05", "r11"
    )
    assert eight.exercise.pickup
    assert check(eight.exercise, eight.level, _TREBLE[0]) == ()


@pytest.mark.parametrize("rhythm", ["r11", "r13"])
def test_of_the_metres_that_a_step_has_one_with_a_pickup_takes_an_unstressed_opening(rhythm):
    hymn = "Amazing grace! how sweet the sound / that saved a wretch like me"
    for seed in range(6):
        sung = _set(hymn, "p08", rhythm, seed=seed)
        assert sung.exercise.pickup
        assert sung.bent == ()
    assert not _set(_STAR, "p08", rhythm).exercise.pickup


def test_a_syllable_is_held_over_the_bar_line_where_that_is_new():
    held = _set(_BOAT, "p06", "r21", metre=TWO_FOUR, seed=0)
    part = held.exercise.parts[0]
    assert any(note.tied for note in part.notes)
    assert len(part.words) == len(part.tones()) == len(part.notes) - sum(n.tied for n in part.notes)
    assert check(held.exercise, held.level, None) == ()
    assert held.bent == ()
    later = _set(_BOAT, "p06", "r14", metre=TWO_FOUR, seed=0)
    assert not any(note.tied for note in later.exercise.parts[0].notes)


def test_lines_that_are_to_sound_together_begin_together():
    ground = shared_ground(level("p05", "r11").tones, Metre(), 4, seed=2)
    sung = _set("The boat goes down the silent stream", "p05", "r11", ground=ground)
    assert sung.exercise.pickup == 0
    assert "boat" in sung.bent


def test_a_first_syllable_is_kept_where_the_other_voices_have_companions():
    ranges = (DEFAULT_RANGES[Voice.CHANGING], DEFAULT_RANGES[Voice.BARITONE])
    sung = _set(_BOAT, "p09", "r04", ranges=ranges, first="mi")
    assert len(sung.exercise.parts) == 2
    assert sung.exercise.parts[0].tones()[0].step == 2


def test_the_same_words_go_to_every_voice_of_the_room():
    ranges = tuple(DEFAULT_RANGES[voice] for voice in Voice)
    for ids in (("p03", "r04"), ("p08", "r04")):
        sung = _set(_BOAT, *ids, ranges=ranges)
        assert {voice for line in sung.reading.plan.lines for voice in line.voices} == {0, 1, 2}
        for voice, limits in enumerate(ranges):
            alone = sung.reading.alone(voice)
            assert all(limits.holds(pitch) for pitch in alone.pitches())
        assert len({part.words for part in sung.exercise.parts}) == 1
        assert len(sung.exercise.parts) == len(sung.reading.plan.lines)


def test_words_stand_in_the_json_and_come_back():
    exercise = _set(_BOAT, "p05", "r04").exercise
    text = exercise_to_json(exercise)
    assert text.startswith('{"version":2,')
    assert exercise_from_json(text) == exercise
    bare = replace(exercise, parts=tuple(replace(p, words=()) for p in exercise.parts))
    assert exercise_to_json(bare).startswith('{"version":1,')


def test_words_and_notes_that_do_not_match_are_no_exercise():
    exercise = _set(_BOAT, "p05", "r04").exercise
    with pytest.raises(ValueError, match="7 syllables under 11 notes"):
        with_words(exercise, words_of([2, 0, 2, 0, 2, 0, 2], []))


@pytest.mark.parametrize(
    ("text", "ids", "wish", "key"),
    [
        (_BOAT, "p01 r01", {"first": "so"}, "refusal.words_first"),
        (_BOAT, "p01 r01", {"first": "fi"}, "refusal.words_first"),
        (_STAR + " / " + _STAR, "p01 r01", {}, "refusal.words_long"),
        ("Snow", "p05 r04", {}, "refusal.words_short"),
        (_BOAT, "p07 r04", {"first": "la", "key": "C"}, "refusal.words_first_range"),
        (_BOAT, "p05 r04", {"metre": Metre.parse("3/4")}, "refusal.metre"),
    ],
)
def test_what_cannot_be_is_refused_with_what_is_in_the_way(text, ids, wish, key):
    ranges = (DEFAULT_RANGES[Voice.CHANGING],) if "key" in wish else _TREBLE
    if "key" in wish:
        wish = {**wish, "key": Key.parse(wish["key"])}
    with pytest.raises(NoExercise) as caught:
        _set(text, *ids.split(), ranges=ranges, **wish)
    assert caught.value.key == key


def test_a_ground_settles_the_shape_and_the_chords_of_strong_beats():
    full = level("p09", "r04")
    ground = shared_ground(full.tones, Metre(), 4, seed=2)
    for seed in range(4):
        exercise = _set(_STAR, "p09", "r04", ground=ground, seed=seed).exercise
        assert (exercise.metre, exercise.measures) == (ground.metre, ground.measures)
        for offset, note in exercise.parts[0].timed():
            measure, inside = divmod(offset, exercise.metre.measure)
            if note.tone and exercise.metre.strength(inside) >= 2:
                root = ground.root(int(measure), inside)
                assert (note.tone.step - root) % 7 in (0, 2, 4)


def test_what_was_sung_does_not_come_again():
    seen = []
    for _ in range(20):
        exercise = _set(_BOAT, "p01", "r01", seed=3, seen=seen).exercise
        assert exercise.fingerprint() not in {each.fingerprint() for each in seen}
        seen.append(exercise)
