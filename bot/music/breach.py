"""Rules of a composed line, each with the key of its sentence, and a breach of one at a place."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from bot.music.exercise import Exercise


class Rule(StrEnum):
    """What a line can break; the value is the key of the sentence about it, with the gap detail."""

    PARTS = "rule.parts"
    MODE = "rule.mode"
    METRE = "rule.metre"
    LENGTH = "rule.length"
    PICKUP = "rule.pickup"
    TIE = "rule.tie"
    HELD = "rule.held"
    BARLINE = "rule.barline"
    CELL = "rule.cell"
    COLOURS = "rule.colours"
    SAME_CELL = "rule.same_cell"
    EVEN = "rule.even"
    REST = "rule.rest"
    LAST_NOTE = "rule.last_note"
    RHYTHM_FOCUS = "rule.rhythm_focus"
    APART = "rule.apart"
    RANGE = "rule.range"
    TONE = "rule.tone"
    SKIP = "rule.skip"
    EQUAL = "rule.equal"
    TURN_BACK = "rule.turn_back"
    TWO_SKIPS = "rule.two_skips"
    QUICK = "rule.quick"
    TRITONE = "rule.tritone"
    LEADS = "rule.leads"
    START = "rule.start"
    END = "rule.end"
    CADENCE = "rule.cadence"
    HALF_CADENCE = "rule.half_cadence"
    CLIMAX = "rule.climax"
    PEAK = "rule.peak"
    PITCH_FOCUS = "rule.pitch_focus"
    BOTH_NEW = "rule.both_new"
    PARALLEL = "rule.parallel"
    HIDDEN = "rule.hidden"
    BOTH_LEAP = "rule.both_leap"
    CROSSING = "rule.crossing"
    DISSONANCE = "rule.dissonance"
    CHAIN = "rule.chain"
    HOLLOW = "rule.hollow"
    COPY = "rule.copy"


@dataclass(frozen=True, slots=True, kw_only=True)
class Breach:
    """One rule broken at one place, as musicians count it; `detail` names what is there."""

    rule: Rule
    measure: int
    beat: Fraction
    detail: str = ""


def breach_at(exercise: Exercise, offset: Fraction, rule: Rule, detail: str = "") -> Breach:
    """A breach at an offset in whole notes."""
    measure, beat = exercise.place(offset)
    return Breach(rule=rule, measure=measure, beat=beat, detail=detail)
