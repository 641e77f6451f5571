"""Sixteenths: left by step or by a third, and never all in one measure; exactly so in the sums."""

from dataclasses import replace
from fractions import Fraction
from math import fsum
from random import Random

import pytest

from bot.music.both_ways import both_ways
from bot.music.breach import Rule
from bot.music.catalogue import Catalogue
from bot.music.cell import Cell, cell_notes
from bot.music.checker import check
from bot.music.composer import Composer
from bot.music.level import RhythmFocus
from bot.music.pitch import Key
from bot.music.room_lines import room_lines
from bot.music.sequence import Interval
from bot.music.turns import retrograde
from bot.music.voice import DEFAULT_RANGES, Voice
from tests.music.law import law
from tests.music.levels import TWO_FOUR, cut, level, steps_first
from tests.music.lines import line

_KEY = Key.parse("F")
_BEATS = ((TWO_FOUR, (Fraction(1), Fraction(2))),)


def _small(name):
    """A level in halves and cells of sixteenths whose lines can all be written out.

    `wide`: do to mi and to so and back. `both ways`: the same with a cell that is the same from
    either end. `apart`: do re mi by step, dotted eighths to come in two measures.
    """
    text = "s e s" if name == "both ways" else "e. s"
    cell = Cell(text=text, notes=cell_notes(text), beats=_BEATS, in_a_row=2, step="r16")
    full = cut(level("p01", "r16"), "h", equal_notes=1)
    full = replace(full, cells=(*full.cells, cell), pitch_focus=None)
    if name == "apart":
        return full
    focus = RhythmFocus(step="r16", count=1, cells=frozenset({text}))
    do, mi, so = (tone for tone in level("p04").tones if tone.step != 1)
    conditions = replace(full.conditions, cadence=(mi, so), half_cadence=(do,))
    return replace(
        full,
        tones=(do, mi, so),
        skips=frozenset({(do, mi), (do, so)}),
        rhythm_focus=focus,
        conditions=conditions,
    )


def _free(full):
    focus = full.rhythm_focus
    return replace(
        full,
        rules=replace(full.rules, from_sixteenths=None),
        rhythm_focus=replace(focus, apart=False),
    )


def _catalogue(full):
    return Catalogue(Composer(full, full.tones), TWO_FOUR, 4)


def _lines(full):
    catalogue = _catalogue(full)
    return [catalogue.line(n).exercise(_KEY, 4) for n in range(catalogue.size)]


def _names(lines):
    return {each.fingerprint() for each in lines}


@pytest.mark.parametrize("name", ["wide", "apart"])
def test_they_are_just_the_lines_that_the_checker_finds_right(name):
    full = _small(name)
    every = _lines(_free(full))
    right = [each for each in every if not check(each, full, None)]
    catalogue = _catalogue(full)

    assert 0 < catalogue.size == len(right) < len(every)
    assert _names(_lines(full)) == _names(right)
    numbers = range(catalogue.size)
    assert [catalogue.number(catalogue.line(n)) for n in numbers] == list(numbers)


@pytest.mark.parametrize("name", ["wide", "apart"])
def test_all_of_them_are_drawn_and_no_others(name):
    full = _small(name)
    shares = law(Composer(full, full.tones))
    assert set(shares) == _names(_lines(full))
    assert fsum(shares.values()) == pytest.approx(1, abs=1e-12)


def test_of_eight_measures_both_halves_have_them():
    small = cut(level("p03", "r16"), "h", "e. s", measures=8, equal_notes=1)
    cells = [replace(cell, beats=_BEATS) for cell in small.cells if cell.text != "h"]
    tones = small.tones[:2]
    kept = replace(small.conditions, start=tones[:1], half_cadence=tones)
    full = replace(small, cells=(*small.cells[:1], *cells), tones=tones, pitch_focus=None)
    full = replace(full, conditions=kept, rhythm_focus=replace(full.rhythm_focus, count=1))
    every, found = (
        Catalogue(Composer(each, each.tones), TWO_FOUR, 8) for each in (_free(full), full)
    )
    lines = [every.line(n).exercise(_KEY, 4) for n in range(every.size)]
    right = [each for each in lines if not check(each, full, None)]
    assert 0 < found.size == len(right) < len(lines)
    assert _names(right) == {
        found.line(n).exercise(_KEY, 4).fingerprint() for n in range(found.size)
    }
    assert [found.number(found.line(n)) for n in range(found.size)] == list(range(found.size))
    assert set(law(Composer(full, full.tones))) == _names(right)


def test_lines_that_go_both_ways_keep_to_it_backwards():
    full = _small("both ways")
    every = _lines(both_ways(_free(full)))
    right = [
        each
        for each in every
        if not check(each, full, None) and not check(retrograde(each), full, None)
    ]
    found = _lines(both_ways(full))
    assert 0 < len(found) == len(right) < len(every)
    assert _names(found) == _names(right)


@pytest.mark.parametrize("step", ["r14", "r15", "r16"])
@pytest.mark.parametrize("pitch", ["p01", "p08"])
def test_lines_of_the_shipped_steps_have_them_in_two_measures(pitch, step):
    full = level(pitch, step)
    composer = Composer(full, full.tones)
    for seed in range(4):
        drawn = composer.draw(Random(seed)).exercise(_KEY, 4)
        assert check(drawn, full, None) == ()
        quick = [o for o, note in drawn.parts[0].timed() if note.duration * 16 == 1]
        assert len({drawn.place(offset)[0] for offset in quick}) > 1


def test_companion_lines_keep_to_it_too():
    ranges = DEFAULT_RANGES[Voice.TREBLE], DEFAULT_RANGES[Voice.CHANGING]
    reading = room_lines(steps_first(), level("p06", "r16"), ranges, Key.parse("F"), seed=2)
    assert len(reading.plan.lines) > 1
    for voice in range(len(ranges)):
        own = reading.plan.lines[reading.line_of(voice)].level
        assert own.rules.from_sixteenths is Interval.THIRD
        assert check(reading.alone(voice), own, None) == ()


@pytest.mark.parametrize(
    ("text", "place", "detail"),
    [
        ("do:e. mi:s so:q", (), ""),
        ("do:e. so:s so:q", (), ""),
        ("do:e. so:s do:q", (1, 2), "so-do"),
        ("so:e do:s mi:s do:q", (), ""),
        ("do:e mi:s do:s so:q", (1, 2), "do-so"),
    ],
)
def test_the_checker_tells_of_a_wide_skip_from_a_sixteenth(text, place, detail):
    full = level("p14", "r16")
    exercise = line(f"{text} | mi:q re:q | mi:q re:q | do:h", "2/4")
    found = [each for each in check(exercise, full, None) if each.rule is Rule.QUICK]
    assert [(each.measure, each.beat) for each in found] == ([place] if place else [])
    assert [each.detail for each in found] == ([detail] if detail else [])
    assert not [b for b in check(exercise, _free(full), None) if b.rule is Rule.QUICK]


def test_a_phrase_begins_afresh():
    full = replace(level("p14", "r16"), rhythm_focus=None)
    first = "do:q re:q | mi:q re:q | do:q re:q | do:q mi:e. re:s"
    exercise = line(f"{first} | so:q fa:q | mi:q re:q | mi:q re:q | do:h", "2/4")
    assert Rule.QUICK not in [each.rule for each in check(exercise, full, None)]


def test_the_checker_tells_of_a_newest_rhythm_in_one_measure_only():
    full = level("p05", "r16")
    crowded = line("do:q re:q | mi:e. fa:s mi:e. re:s | mi:q re:q | do:h", "2/4")
    spread = line("do:q re:q | mi:e. fa:s mi:q | mi:e. fa:s re:q | do:h", "2/4")
    found = [each for each in check(crowded, full, None) if each.rule is Rule.APART]
    assert [(each.measure, each.detail) for each in found] == [(2, "e. s")]
    assert Rule.APART not in [each.rule for each in check(spread, full, None)]


@pytest.mark.parametrize(
    ("count", "measures", "often", "enough"),
    [
        (2, 4, (3,), False), (2, 4, (1, 1), True), (3, 8, (4, 1), True), (3, 8, (1, 1), False),
        (3, 8, (2, 1), True), (3, 8, (9,), False), (3, 8, (1, 1, 1), True),
    ],
)  # fmt: skip
def test_what_measures_count_for_says_whether_two_of_them_have_enough(
    count, measures, often, enough
):
    focus = RhythmFocus(step="r15", count=count, cells=frozenset({"e s s"}), apart=True)
    counted = sum(focus.counted(each, measures) for each in often)
    assert (counted >= focus.needed(measures)) is enough
