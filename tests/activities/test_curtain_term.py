"""The curtain over whole terms: lines as choirs read them, spans of the class and of home mixed."""

from collections import Counter
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction
from random import Random

import pytest

from bot.activities.curtain import (
    FIRST_SPAN,
    MOST_LIKELY,
    Fall,
    HomeWeek,
    Spot,
    beats_after,
    chances,
    drawn,
    home_week,
    left_after,
    own_span,
    place_at,
    places,
)
from bot.music.exercise import Exercise
from tests.music.lines import line

MONDAY = date(2026, 9, 7)
WEEKS, A_WEEK = 16, 4  # two days a week with the curtain, two falls in a lesson
# Metre, a whole measure of it, its upbeat and the last measure that makes up for it.
METRES = {
    "4/4": ("do:q re:q mi:q re:q", "so,:q", "do:h."),
    "3/4": ("do:q re:q mi:q", "so,:q", "do:h"),
    "2/4": ("do:q re:q", "so,:e", "do:q r:e"),
    "6/8": ("do:q. re:q.", "so,:e", "do:q. r:q"),
    "cut": ("do:h re:h", "so,:q", "do:h r:q"),
}
SHAPES = [
    (metre, measures, upbeat, rest)
    for metre in METRES
    for measures in (4, 8)
    for upbeat, rest in ((False, False), (True, True))
]


def a_line(metre: str, measures: int, upbeat: bool, rest: bool) -> Exercise:
    """A line of that shape; with a rest it breathes in the middle."""
    whole, before, last = METRES[metre]
    bars = [whole] * measures
    if rest:
        head, _, value = bars[measures // 2 - 1].rpartition(" ")[2].partition(":")
        bars[measures // 2 - 1] = bars[measures // 2 - 1].rpartition(" ")[0] + f" r:{value}"
        assert head
    if upbeat:
        bars[-1] = last
    written = "2/2" if metre == "cut" else metre
    return line(" | ".join(bars), metre=written, pickup=before if upbeat else "")


def pulses(exercise: Exercise) -> Fraction:
    return exercise.length / exercise.metre.pulse


@dataclass
class Term:
    """A choir whose span grows from two beats to about seven."""

    seed: int
    falls: list[Fall] = field(default_factory=list)
    at_home: list[HomeWeek] = field(default_factory=list)
    offered: Counter[Spot] = field(default_factory=Counter)
    widest: int = 0  # places at once

    def __post_init__(self) -> None:
        self.dice = Random(self.seed)

    def live(self, lines: list[Exercise]) -> None:
        """Every fall of the term over lines drawn from these, and every week at home."""
        for number in range(WEEKS * A_WEEK):
            week, turn = divmod(number, A_WEEK)
            monday = MONDAY + timedelta(weeks=week)
            on, skill = monday + timedelta(days=1 + turn), 2 + 5 * week / WEEKS
            exercise = self.dice.choice(lines)
            if self.dice.random() < 0.1:
                at = Fraction(self.dice.randrange(int(pulses(exercise)) * 4), 4)
                place, by_hand = place_at(exercise, at), True
            else:
                place, by_hand = self.fall(exercise), False
            left = left_after(exercise, place)
            counted = self.dice.random() < 0.7
            held = min(left, max(0, round(self.dice.gauss(skill, 1.5)))) if counted else None
            self.falls.append(Fall(on=on, spot=place.spot, left=left, held=held, by_hand=by_hand))
            if turn == A_WEEK - 1:
                told = [max(0, round(self.dice.gauss(skill, 2))) for _ in range(9)]
                if (at_home := home_week(monday, told, 5)) is not None:
                    self.at_home.append(at_home)

    def left_unused(self) -> set[Spot]:
        """Places never used, though offered twice as often as there are places to choose from.

        Where there are few, chance may pass one over for longer: none is surer than a third.
        """
        often = max(2 * self.widest, 18)
        used = {fall.spot for fall in self.falls if not fall.by_hand}
        return {spot for spot, times in self.offered.items() if times >= often} - used

    def fall(self, exercise: Exercise):
        """Where it falls now; what must hold of every fall, holds of this one."""
        span = own_span(self.falls, self.at_home)
        found = chances(exercise, self.falls, span)
        first = (exercise.pickup + exercise.metre.measure) / exercise.metre.pulse
        assert sum(chance for _, chance in found) == 1
        assert all(0 < chance <= MOST_LIKELY for _, chance in found)
        assert all(place.pulses >= first for place, _ in found)
        if self.falls:
            assert self.falls[-1].spot not in {place.spot for place, _ in found}
        room = pulses(exercise) - 2 - span - first
        if room >= Fraction(3, 2):  # there are four places so far from the end
            assert all(place.pulses <= first + room for place, _ in found)
        self.offered.update(place.spot for place, _ in found)
        self.widest = max(self.widest, len(found))
        return drawn(exercise, self.falls, self.dice.getrandbits(62), span)


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: "-".join(map(str, shape)))
def test_every_line_of_a_term_keeps_the_rules_and_uses_all_its_places(shape):
    term = Term(len(shape[0]) + shape[1])
    term.live([a_line(*shape)])
    assert term.left_unused() == set()
    assert max(term.offered.values()) >= max(2 * term.widest, 18)


@pytest.mark.parametrize("measures", [4, 8])
def test_lines_of_every_metre_in_turn_keep_the_rules_too(measures):
    lines = [a_line(*shape) for shape in SHAPES if shape[1] == measures]
    for seed in range(2):
        term = Term(seed)
        term.live(lines)
        assert term.left_unused() == set()


def test_what_is_drawn_has_the_chances_that_are_told():
    term = Term(5)
    exercise = a_line("4/4", 8, False, True)
    term.live([exercise])
    span = own_span(term.falls, term.at_home)
    told = dict(chances(exercise, term.falls, span))
    times = 400
    counted = Counter(drawn(exercise, term.falls, seed, span) for seed in range(times))
    assert set(counted) <= set(told)
    for place, chance in told.items():
        spread = (times * chance * (1 - chance)) ** 0.5
        assert abs(counted[place] - times * chance) <= 4.5 * spread + 1


def test_home_moves_the_span_as_far_as_its_weeks_go_and_no_farther():
    """A week at home is one count among the latest eight, whatever number of seats told."""
    falls = [
        Fall(on=MONDAY + timedelta(days=n), spot=Spot(measure=2, beat=Fraction(1)), left=12, held=3)
        for n in range(4)
    ]

    def weeks(count, middle, first=MONDAY):
        return [
            HomeWeek(monday=first + timedelta(weeks=n), seats=40, middle=middle)
            for n in range(count)
        ]

    assert own_span([], []) == FIRST_SPAN
    assert own_span([], weeks(1, 6.5)) == 6
    assert own_span(falls, weeks(3, 9.0)) == 3
    assert own_span(falls, weeks(5, 9.0)) == 9
    assert own_span(falls, weeks(12, 9.0, MONDAY - timedelta(weeks=20))) == 6
    assert own_span(falls * 2, weeks(12, 9.0, MONDAY - timedelta(weeks=20))) == 3


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: "-".join(map(str, shape)))
def test_the_beats_that_can_be_told_go_on_from_the_place_to_the_end(shape):
    exercise = a_line(*shape)
    for place in places(exercise, FIRST_SPAN):
        spots = beats_after(exercise, place)
        assert 3 <= len(spots) <= left_after(exercise, place)
        assert spots == tuple(sorted(set(spots)))
        assert all(spot.beat.denominator == 1 for spot in spots)
        assert spots[0] >= place.spot
        assert spots[0] < place_at(exercise, place.pulses + 1).spot
        assert pulses(exercise) - place.pulses - len(spots) < 2
