"""Ties and pickups: the sums against lines written out one by one and judged by the checker."""

from dataclasses import replace
from fractions import Fraction
from itertools import product

import pytest

from bot.music.breach import Rule
from bot.music.catalogue import Catalogue
from bot.music.cell import Cell, cell_notes
from bot.music.checker import check
from bot.music.composer import Composer
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.level import RhythmFocus
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from tests.music.levels import TWO_FOUR, cut, level, tiny

_KEY, _DO = Key.parse("F"), Tone(step=0)
_THREE_FOUR = Metre.parse("3/4")
_VALUES = [Fraction(1, 8), Fraction(1, 4), Fraction(1, 2), Fraction(3, 4)]
_OF_TONES = {
    Rule.SKIP, Rule.EQUAL, Rule.TURN_BACK, Rule.TWO_SKIPS, Rule.TRITONE, Rule.START, Rule.END,
    Rule.CADENCE, Rule.HALF_CADENCE, Rule.PITCH_FOCUS, Rule.TONE,
}  # fmt: skip


def _small(name):
    """A level, its metre and the length of its pickup."""
    steps = cut(level("p01", "r01"), "q", "h", equal_notes=1)
    match name:
        case "ties":
            beats = ((TWO_FOUR, (Fraction(1),)),)
            tie = Cell(text="q~ e e", notes=cell_notes("q~ e e"), beats=beats, step="r12")
            focus = RhythmFocus(step="r12", count=2, cells=frozenset({tie.text}))
            rules = replace(steps.rules, equal_notes=2)
            full = replace(steps, cells=(*steps.cells, tie), rhythm_focus=focus, rules=rules)
            return full, TWO_FOUR, Fraction(0)
        case "held":
            return tiny("held"), TWO_FOUR, Fraction(0)
        case "pickup" | "pickup, held":
            known = level("p01", "r11" if name == "pickup" else "r21")
            full = replace(
                steps,
                cells=tuple(
                    replace(cell, in_a_row=2)
                    for cell in known.cells
                    if cell.text in ("q", "h", "h.")
                ),
                metres=((_THREE_FOUR, 1),),
                pickup=known.pickup,
                rhythm_focus=known.rhythm_focus,
                held=known.held,
            )
            return full, _THREE_FOUR, known.pickup.duration
    raise ValueError(name)


def _fills(left):
    """Every way to fill a length with notes, each tied to the next or not."""
    if not left:
        yield ()
    for value in _VALUES:
        if value <= left:
            for rest in _fills(left - value):
                yield ((value, False), *rest)
                if rest:
                    yield ((value, True), *rest)


def _exercise(rhythm, tones, metre, pickup):
    sung, notes, tone = iter(tones), [], None
    for duration, tied in rhythm:
        tone = tone if notes and notes[-1].tied else next(sung)
        notes.append(Note(duration=duration, tone=tone, tied=tied))
    return Exercise(key=_KEY, metre=metre, parts=(Part(notes=tuple(notes)),), pickup=pickup)


def _rhythms(full, metre, pickup):
    """Every rhythm of four measures that the checker finds right."""
    measures = [list(_fills(metre.measure))] * 3 + [list(_fills(metre.measure - pickup))]
    known = []
    for place, fills in enumerate(measures):  # measures of strange cells need no company
        filler = [((metre.measure, False),)] * 3 + [((metre.measure - pickup, False),)]
        alone = [_laid([*filler[:place], fill, *filler[place + 1 :]], pickup) for fill in fills]
        known.append(
            [
                fill
                for fill, rhythm in zip(fills, alone, strict=True)
                if not any(
                    breach.rule is Rule.CELL and breach.measure == place + 1
                    for breach in _judged(rhythm, full, metre, pickup)
                )
            ]
        )
    for chosen in product(*([*_tied(fill, full)] for fill in known)):
        rhythm = _laid(chosen, pickup)
        if {breach.rule for breach in _judged(rhythm, full, metre, pickup)} <= _OF_TONES:
            yield rhythm


def _tied(fills, full):
    """Measures as they are, and with the last note tied over the bar line where a step has that."""
    for fill in fills:
        yield fill
        if full.held:
            yield (*fill[:-1], (fill[-1][0], True))


def _laid(measures, pickup):
    first = ((pickup, False),) if pickup else ()
    return (*first, *(note for measure in measures for note in measure))


def _struck(rhythm):
    return len(rhythm) - sum(tied for _, tied in rhythm[:-1])


def _judged(rhythm, full, metre, pickup):
    return check(_exercise(rhythm, [_DO] * _struck(rhythm), metre, pickup), full, None)


def _melodies(full, length, start):
    if len(start) == length:
        yield start
        return
    for tone in full.tones:
        if abs(tone.step - start[-1].step) == 1 or full.rules.equal_notes > 1:
            yield from _melodies(full, length, (*start, tone))


@pytest.mark.parametrize("name", ["ties", "pickup", "held", "pickup, held"])
def test_the_catalogue_holds_just_the_lines_that_the_checker_finds_right(name):
    full, metre, pickup = _small(name)
    by_hand = set()
    for rhythm in _rhythms(full, metre, pickup):
        for tones in _melodies(full, _struck(rhythm), (_DO,)):
            if tones[-1] == _DO:
                exercise = _exercise(rhythm, tones, metre, pickup)
                if not check(exercise, full, None):
                    by_hand.add(exercise.fingerprint())

    catalogue = Catalogue(Composer(full, full.tones), metre, 4, pickup=bool(pickup))
    lines = [catalogue.line(n) for n in range(catalogue.size)]

    assert {line.exercise(_KEY, 4).fingerprint() for line in lines} == by_hand
    assert len(by_hand) == catalogue.size > 5
    assert [catalogue.number(line) for line in lines] == list(range(catalogue.size))


def test_a_level_without_pickups_has_no_lines_with_one_to_number():
    full = level("p05", "r04")
    with pytest.raises(ValueError, match="no pickups in 4/4"):
        Catalogue(Composer(full, full.tones), Metre(), 4, pickup=True)
