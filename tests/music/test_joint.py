"""Several parts at once: exactly the settings that the checkers find right, drawn by their law."""

from collections import Counter
from dataclasses import replace
from itertools import product
from random import Random

import pytest

from bot.music.check_parts import PartRules, check_parts
from bot.music.checker import check
from bot.music.companion import companion_level
from bot.music.drawing import Unread
from bot.music.ensemble import heights
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.joint import Joint
from bot.music.joint_lines import JointLines
from bot.music.patterns import Filling
from bot.music.pitch import Key
from bot.music.side import Side
from bot.music.slices import slices_of
from bot.music.sounding import Singer
from bot.music.voice_leading import Manner
from bot.music.written import rhythm_of
from tests.music.law import chi_square
from tests.music.levels import TWO_FOUR, cut, level

_KEY = Key.parse("F")
_DO, _MI = Tone(step=0), Tone(step=2)


class Setting:
    """Parts over given rhythms, as the sum has them and written out by hand."""

    def __init__(self, rhythms, tones, ends, octaves, manner, *, focus=False):
        full = cut(level("p05", "r02"), "q", "h", equal_notes=2)
        focus = replace(full.pitch_focus, count=2, tones=frozenset({_MI})) if focus else None
        full = replace(full, pitch_focus=focus, rhythm_focus=None)
        self.levels = [
            companion_level(full, row, end, full) for row, end in zip(tones, ends, strict=True)
        ]
        self.tones, self.octaves = tones, octaves
        self.measures = [_measures(full, rhythm) for rhythm in rhythms]
        sides = [
            Side(each, row, focus.needed(4) if focus else 0)
            for each, row in zip(self.levels, tones, strict=True)
        ]
        singers = [
            Singer(number, heights(_KEY, row, octave))
            for number, (row, octave) in enumerate(zip(tones, octaves, strict=True))
        ]
        slices = slices_of(TWO_FOUR, self.measures, [frozenset()] * len(tones))
        self.lines = JointLines(Joint(sides, [singers], manner), slices)

    def exercise(self, rows):
        """Tones of each part as music."""
        parts = []
        for measures, row, octave in zip(self.measures, rows, self.octaves, strict=True):
            tones = iter(row)
            notes = tuple(Note(duration=d, tone=next(tones)) for d, _ in rhythm_of(measures))
            parts.append(Part(notes=notes, do_octave=octave))
        return Exercise(key=_KEY, metre=TWO_FOUR, parts=tuple(parts))

    def by_hand(self, rules):
        """Every setting whose lines and whose sounding together the checkers find right.

        Parts that sing one line throughout are one part, and no setting.
        """
        rows = []
        for number, tones in enumerate(self.tones):
            count = sum(pattern.notes for pattern in self.measures[number])
            rows.append(
                [
                    line
                    for line in product(tones, repeat=count)
                    if self._rounded_off(number, line)
                    and not check(self._alone(number, line), self.levels[number], None)
                ]
            )
        return {
            self.exercise(lines).fingerprint()
            for lines in product(*rows)
            if len(set(lines)) == len(lines) and not check_parts(self.exercise(lines), rules)
        }

    def _rounded_off(self, number, line):
        """Whether a line begins and ends as it should, which spares looking at most of them."""
        conditions = self.levels[number].conditions
        return line[0] in conditions.start and line[-1] == conditions.end

    def _alone(self, number, line):
        tones = iter(line)
        notes = tuple(
            Note(duration=d, tone=next(tones)) for d, _ in rhythm_of(self.measures[number])
        )
        return Exercise(key=_KEY, metre=TWO_FOUR, parts=(Part(notes=notes),))

    def summed(self):
        """Fingerprint -> share of the weight, walking down every choice."""
        return dict(self._walk((), self.lines.root, 1.0))

    def _walk(self, labels, state, share):
        choices = self.lines.choices(state)
        if not choices:
            yield self._named(self.lines.tones(labels)), share
        whole = sum(mass for _, mass, _ in choices)
        for label, mass, after in choices:
            yield from self._walk((*labels, label), after, share * mass / whole)

    def _named(self, drawn):
        rows = [
            [tones[place] for place in row]
            for tones, row in zip(self.tones, self.lines.parts(drawn), strict=True)
        ]
        return self.exercise(rows).fingerprint()

    def draw(self, random):
        """The fingerprint of one setting."""
        return self._named(Unread(self.lines).draw(random))


def _measures(full, rhythm):
    patterns = Filling(full.cells, TWO_FOUR).patterns()
    written = {" ".join(cell.text for cell in pattern.cells): pattern for pattern in patterns}
    return [written[measure.strip()] for measure in rhythm.split("|")]


def _tones(*steps):
    return tuple(Tone(step=step) for step in steps)


def _setting(name):
    match name:
        case "two alike":
            rhythm = "q q | h | q q | h"
            tones = (_tones(0, 1, 2, 3), _tones(-1, 0, 1, 2))
            return Setting([rhythm] * 2, tones, (_DO, _DO), (4, 4), Manner()), PartRules()
        case "crossing, focus":
            rhythm = "q q | h | q q | h"
            tones = (_tones(0, 1, 2, 3), _tones(0, 1, 2, 3))
            manner, rules = Manner(crossing=0.5, chain=2), PartRules(crossing=True, chain=2)
            return Setting([rhythm] * 2, tones, (_DO, _MI), (4, 4), manner, focus=True), rules
        case "unlike":
            rhythms = ["q q | q q | q q | h", "h | q q | h | h"]
            tones = (_tones(0, 1, 2, 3), _tones(-1, 0, 1))
            return Setting(rhythms, tones, (_MI, _DO), (4, 4), Manner()), PartRules()
        case "three":
            tones = (_tones(0, 1, 2, 3, 4), _tones(-1, 0, 1, 2), _tones(0, 2, 3, 4))
            rules = PartRules(full=True)
            rhythm = "h | h | h | h"
            ends = (_MI, _DO, _DO)
            return Setting([rhythm] * 3, tones, ends, (4, 4, 3), Manner(full=True)), rules
    raise ValueError(name)


_SETTINGS = ("two alike", "crossing, focus", "unlike", "three")


@pytest.mark.parametrize("name", _SETTINGS)
def test_the_sum_holds_just_the_settings_that_the_checkers_find_right(name):
    setting, rules = _setting(name)
    summed = setting.summed()
    assert set(summed) == setting.by_hand(rules)
    assert len(summed) == setting.lines.size > 5


@pytest.mark.parametrize("name", ["two alike", "unlike"])
def test_draws_follow_the_law_of_the_sum(name):
    setting, _ = _setting(name)
    shares = setting.summed()
    random = Random(1)
    drawn = Counter(setting.draw(random) for _ in range(6_000))
    statistic, free = chi_square(drawn, shares)
    assert free > 4
    assert statistic / free < 1.6


def test_a_setting_that_was_read_does_not_come_again():
    setting, _ = _setting("unlike")
    every = setting.lines.size
    read, random = [], Random(2)
    for _ in range(every):
        unread = Unread(setting.lines, read)
        assert unread.share > 0.0
        labels = setting.lines.labels(unread.draw(random))
        assert labels not in read
        read.append(labels)
    assert Unread(setting.lines, read).share == 0.0
