"""The critic chooses, by plain facts, and changes nothing else."""

import math
from collections import Counter
from fractions import Fraction
from random import Random

import pytest

from bot.music.composer import Composer
from bot.music.critic import best, chosen, heard, heard_rhythm, rhythm_score, score
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.line_draw import KEPT, LINES
from bot.music.line_facts import Timing, facts, rhythm_facts
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from tests.music.levels import level

_KEY = Key.parse("F")


def _line(*steps, duration=Fraction(1, 4), metre=None):
    notes = tuple(Note(duration=duration, tone=Tone(step=step)) for step in steps)
    return Exercise(key=_KEY, metre=metre or Metre(), parts=(Part(notes=notes),))


def _facts(exercise):
    return facts(heard(exercise), exercise.measures)


def test_a_measure_that_comes_again_is_noticed():
    found = _facts(_line(0, 1, 2, 3, 0, 1, 2, 3))
    assert found["measures again"] == 0.5
    assert found["half begins again"] == 1
    assert _facts(_line(0, 1, 2, 3, 3, 2, 1, 0))["measures again"] == 0


def test_a_sequence_is_a_shape_and_no_measure_again():
    found = _facts(_line(0, 1, 2, 0, 1, 2, 3, 1))
    assert found["shapes again"] == 0.5
    assert found["measures again"] == 0


def test_leaps_turns_and_repeats_are_shares_of_the_moves():
    found = _facts(_line(0, 0, 1, 4, 3, 5, 5, 0, 7))
    assert found["repeats"] == 2 / 8
    assert found["steps"] == 2 / 8
    assert found["thirds"] == 1 / 8
    assert found["leaps"] == 3 / 8
    assert found["wide leaps"] == 2 / 8
    assert found["turns"] == 3 / 8


def test_tied_notes_are_heard_as_one_and_rests_not_at_all():
    quarter = Fraction(1, 4)
    notes = (
        Note(duration=quarter, tone=Tone(step=0), tied=True),
        Note(duration=quarter, tone=Tone(step=0)),
        Note(duration=quarter),
        Note(duration=quarter, tone=Tone(step=1)),
    )
    exercise = Exercise(key=_KEY, metre=Metre(), parts=(Part(notes=notes),))
    assert [(note.beat, note.beats, note.step) for note in heard(exercise)] == [
        (0.0, 2.0, 0),
        (3.0, 1.0, 1),
    ]


def test_beats_are_those_that_are_felt():
    line = _line(0, 1, 2, 3, 4, 5, duration=Fraction(1, 8), metre=Metre(beats=6, unit=8))
    assert heard(line)[3].beat == 1.0


def test_the_score_hears_no_key():
    line = _line(0, 1, 2, 3, 4, 3, 1, 0)
    moved = line.in_key(Key.parse("Bb"), (3,))
    assert score(moved) == score(line)


def test_a_line_that_echoes_beats_one_that_wanders():
    echoes = _line(0, 1, 2, 0, 4, 3, 4, 2, 0, 1, 2, 0, 4, 3, 1, 0)
    wanders = _line(0, 4, 2, 1, 0, 1, 3, 4, 2, 0, 4, 3, 0, 2, 1, 0)
    assert best([wanders, echoes]) == 1
    assert best([echoes, wanders]) == 0


def test_of_equals_the_first_is_chosen_and_of_none_nothing():
    line = _line(0, 1, 2, 3, 4, 3, 1, 0)
    assert best([line, line]) == 0
    with pytest.raises(ValueError, match="no candidate"):
        best([])


def test_a_choice_follows_the_exponential_of_the_scores():
    random = Random(3)
    picked = Counter(chosen([0.0, math.log(3.0), -1000.0], random) for _ in range(4_000))
    assert picked[2] == 0
    assert picked[1] / picked.total() == pytest.approx(0.75, abs=0.03)
    with pytest.raises(ValueError, match="no candidate"):
        chosen([], random)


def test_the_chosen_line_is_a_candidate_with_its_worth_beside_its_rhythm():
    full = level("p05", "r04")
    lines = Composer(full, full.tones).candidates(Random(5))
    taken = Composer(full, full.tones).choose(Random(5))

    assert len(lines) == KEPT * LINES
    assert taken.exercise(_KEY, 4) in [line.exercise(_KEY, 4) for line in lines]
    for line in lines:
        exercise = line.exercise(_KEY, 4)
        rhythm = rhythm_score(Timing(heard(exercise), exercise.measures))
        assert line.worth == pytest.approx(score(exercise) - rhythm)


def test_chosen_lines_are_more_like_tunes_than_those_among_which_they_were_chosen():
    full = level("p05", "r04")
    composer = Composer(full, full.tones)
    gains = []
    for seed in range(100):
        lines = composer.candidates(Random(seed), metre=Metre(), measures=8)
        taken = composer.choose(Random(seed), metre=Metre(), measures=8)
        gains.append(taken.worth - sum(line.worth for line in lines) / len(lines))
    assert sum(gains) / len(gains) > 0.1


def test_a_rhythm_is_heard_before_its_tones_as_it_is_after():
    full = level("p15", "r16")
    composer = Composer(full, full.tones)
    for seed in range(10):
        line = composer.draw(Random(seed))
        exercise = line.exercise(_KEY, 4)
        before, after = heard_rhythm(line.measures, line.metre), heard(exercise)
        assert [note[:3] for note in before] == [note[:3] for note in after]
        found = rhythm_facts(before, exercise.measures)
        assert found.items() <= facts(after, exercise.measures).items()


def test_candidates_share_metre_length_and_kinds_of_cells():
    full = level("p15", "r16")
    composer = Composer(full, full.tones)
    for seed in range(5):
        lines = composer.candidates(Random(seed))
        assert len({(line.metre, len(line.measures)) for line in lines}) == 1
        colours = {
            frozenset(c.step for m in line.measures for c in m.cells if not c.plain)
            for line in lines
        }
        assert len(colours) == 1


def test_the_critic_does_not_decide_how_often_a_metre_comes():
    full = level("p05", "r09")
    composer = Composer(full, full.tones)
    drawn = Counter(str(composer.draw(Random(seed)).metre) for seed in range(25))
    chosen = Counter(str(composer.choose(Random(seed)).metre) for seed in range(25))
    assert chosen == drawn
