"""The sums behind the composer, against lines written out one by one and judged by the checker."""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import product
from random import Random

import pytest

from bot.music.catalogue import Catalogue
from bot.music.checker import check
from bot.music.composer import Composer
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.level import Level
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from tests.music.levels import FOUR_FOUR, TINY, TWO_FOUR, cut, level, tiny

_KEY = Key.parse("F")
_VALUES = [(Fraction(1, 8), False), (Fraction(1, 4), False), (Fraction(1, 2), False)]
_VALUES += [(Fraction(1, 4), True)]


def _rhythms(measures: int, metre: Metre, values) -> Iterator[tuple]:
    """Every way to fill the measures with notes and rests, no note over a bar line."""

    def fill(left: Fraction) -> Iterator[tuple]:
        if not left:
            yield ()
        for value in values:
            if value[0] <= left:
                yield from ((value, *rest) for rest in fill(left - value[0]))

    for chosen in product(tuple(fill(metre.measure)), repeat=measures):
        yield tuple(value for measure in chosen for value in measure)


def _melodies(
    full: Level, length: int, seam: int, start: tuple[Tone, ...]
) -> Iterator[tuple[Tone, ...]]:
    """Tones a repeat, a step or a skip of the level apart; all else is left to the checker.

    `seam` counts the notes of the first phrase. Where no tone may come twice, none is repeated but
    over the seam, or there would be too much to write out.
    """
    if length == len(start):
        yield start
        return
    last = start[-1]
    for tone in full.tones:
        pair = (min(last, tone), max(last, tone))
        repeats = tone == last and (full.rules.equal_notes > 1 or len(start) == seam)
        if repeats or abs(last.step - tone.step) == 1 or pair in full.skips:
            yield from _melodies(full, length, seam, (*start, tone))


def _by_hand(full: Level) -> set[str]:
    """The fingerprints of all lines that the checker finds right."""
    used = {(note.duration, note.rest) for cell in full.cells for note in cell.notes}
    found = set()
    for rhythm in _rhythms(full.measures[0], TWO_FOUR, [v for v in _VALUES if v in used]):
        notes = sum(1 for _, rest in rhythm if not rest)
        silent = _exercise(rhythm, [Tone(step=0)] * notes) if notes else None
        if silent is None or _rhythm_is_wrong(silent, full):
            continue
        half = 4 * TWO_FOUR.measure
        seam = sum(1 for offset, note in silent.parts[0].timed() if note.tone and offset < half)
        for tones in _melodies(full, notes, seam, full.conditions.start):
            if tones[-1] == full.conditions.end:
                exercise = _exercise(rhythm, tones)
                if not check(exercise, full, None):
                    found.add(exercise.fingerprint())
    return found


def _rhythm_is_wrong(exercise: Exercise, full: Level) -> bool:
    melodic = ("skip", "equal", "turn_back", "two_skips", "tritone", "start", "end", "cadence")
    melodic += ("half_cadence", "pitch_focus", "both_new", "tone")
    wrong = {breach.rule.value.removeprefix("rule.") for breach in check(exercise, full, None)}
    return bool(wrong - set(melodic))


def _exercise(rhythm, tones) -> Exercise:
    sung = iter(tones)
    notes = tuple(Note(duration=d, tone=None if rest else next(sung)) for d, rest in rhythm)
    return Exercise(key=_KEY, metre=TWO_FOUR, parts=(Part(notes=notes),))


@pytest.mark.parametrize("name", [*TINY, "up from fi"])
def test_the_catalogue_holds_just_the_lines_that_the_checker_finds_right(name):
    full = _up_from_fi() if name == "up from fi" else _from_do(tiny(name))
    catalogue = Catalogue(Composer(full, full.tones), TWO_FOUR, full.measures[0])
    by_hand = _by_hand(full)

    numbered = [catalogue.line(n).exercise(_KEY, 4).fingerprint() for n in range(catalogue.size)]

    assert len(by_hand) == catalogue.size > 10
    assert set(numbered) == by_hand


def _from_do(full: Level) -> Level:
    """All lines start on do, which keeps the writing out short."""
    return replace(full, conditions=replace(full.conditions, start=(Tone(step=0),)))


def _up_from_fi() -> Level:
    """Lines from so to do' with fi: one that turns there and rises ends a fifth too small."""
    full = cut(level("p18", "r01"), "q", "h")
    ends = replace(
        full.conditions, start=(Tone(step=4),), end=Tone(step=7), cadence=(Tone(step=6),)
    )
    tones = tuple(tone for tone in full.tones if tone.step > 3 or tone.alter)
    return replace(full, conditions=ends, tones=tones)


@pytest.mark.parametrize("name", TINY)
def test_every_line_has_its_own_number(name):
    full = tiny(name)
    catalogue = Catalogue(Composer(full, full.tones), TWO_FOUR, full.measures[0])

    numbers = [catalogue.number(catalogue.line(n)) for n in range(catalogue.size)]

    assert numbers == list(range(catalogue.size))


def test_a_number_beyond_the_last_has_no_line():
    full = tiny("steps")
    catalogue = Catalogue(Composer(full, full.tones), TWO_FOUR, 4)
    with pytest.raises(IndexError):
        catalogue.line(catalogue.size)


@pytest.mark.parametrize("number", [0, 10**6, 10**20, 4 * 10**30])
def test_numbers_of_a_large_level_are_exact_too(number):
    full = level("p05", "r04")
    catalogue = Catalogue(Composer(full, full.tones), FOUR_FOUR, 8)

    line = catalogue.line(number)

    assert catalogue.number(line) == number
    assert not check(line.exercise(_KEY, 4), full, None)


@pytest.mark.parametrize("numbers", [40, pytest.param(4_000, marks=pytest.mark.long)])
@pytest.mark.parametrize(
    ("ids", "metre", "pickup"),
    [("p06 r11", "3/4", True), ("p05 r12", "4/4", False), ("p17 r04", "4/4", False),
     ("p07 r19", "6/8", False), ("p05 r21", "4/4", False), ("p08 r21", "3/4", True)],
)  # fmt: skip
def test_numbers_and_lines_of_steps_with_millions_of_lines_are_each_others_inverse(
    ids, metre, pickup, numbers
):
    full = level(*ids.split())
    catalogue = Catalogue(Composer(full, full.tones), Metre.parse(metre), 4, pickup=pickup)
    key = replace(_KEY, mode=full.mode)
    assert catalogue.size >= 10**6
    chosen = [catalogue.size * place // numbers for place in range(numbers)]

    lines = [catalogue.line(number) for number in chosen]

    assert [catalogue.number(line) for line in lines] == chosen
    exercises = [line.exercise(key, 4) for line in lines]
    assert len({exercise.fingerprint() for exercise in exercises}) == numbers
    assert not any(check(exercise, full, None) for exercise in exercises)


@pytest.mark.parametrize("draws", [30, pytest.param(4_000, marks=pytest.mark.long)])
def test_every_line_that_is_drawn_has_a_number_and_comes_back_from_it(draws):
    full = level("p01", "r03")
    composer = Composer(full, full.tones)
    catalogue = Catalogue(composer, FOUR_FOUR, 4)
    assert catalogue.size >= 10**6
    for seed in range(draws):
        drawn = composer.draw(Random(seed), metre=FOUR_FOUR, measures=4)
        number = catalogue.number(drawn)
        assert 0 <= number < catalogue.size
        again = catalogue.line(number)
        assert again.exercise(_KEY, 4) == drawn.exercise(_KEY, 4)
