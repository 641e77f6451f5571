"""The usual ranges and the criteria's ranges against the lists that they were taken from.

Florida: the middle-school all-state guideline. Page: ourdevelopingvoices.org, middle school (alto,
soprano). List: c4net.work (cambiata, bass). Beery: L. Beery 2015 (high, middle, low). Collins:
cambiatainstitute.com. All as read for `content/SOURCES.md`.
"""

from functools import cache
from pathlib import Path

import pytest

from bot.music.criteria_file import parse_criteria
from bot.music.pitch import Pitch
from bot.music.voice import DEFAULT_RANGES, Voice

FLORIDA = {Voice.TREBLE: "C4-C5", Voice.CHANGING: "G3-F4", Voice.BARITONE: "C3-C4"}
PAGE_ALTO, PAGE_SOPRANO = "A3-E5", "B3-F5"
LIST_CAMBIATA, LIST_BASS = "G3-F4", "Bb2-D4"
BEERY_LOW = "Bb2-Bb3"
COLLINS_SHARED = "A3-D4"  # what cambiata and baritone have in common
MAJOR_SIXTH = 9  # half steps


def span(text):
    low, _, high = text.partition("-")
    return Pitch.parse(low).midi, Pitch.parse(high).midi


def usual(voice):
    return DEFAULT_RANGES[voice].low.midi, DEFAULT_RANGES[voice].high.midi


@cache
def florida():
    file = Path(__file__).parents[2] / "content" / "criteria" / "florida-middle.toml"
    return parse_criteria(file.read_text(encoding="utf-8"), file.name)


@pytest.mark.parametrize("voice", Voice)
def test_the_criteria_have_floridas_ranges_and_span(voice):
    low, high = florida().ranges[voice]
    assert (low.midi, high.midi) == span(FLORIDA[voice])
    assert florida().span == MAJOR_SIXTH


@pytest.mark.parametrize("voice", Voice)
def test_a_florida_line_can_be_sung_within_the_usual_range(voice):
    low, high = usual(voice)
    asked_low, asked_high = span(FLORIDA[voice])
    assert low <= asked_low
    assert asked_high <= high


def test_the_treble_lies_between_the_lists_alto_and_soprano():
    low, high = usual(Voice.TREBLE)
    assert span(PAGE_ALTO)[0] <= low <= span(PAGE_SOPRANO)[0]
    assert span(PAGE_ALTO)[1] <= high <= span(PAGE_SOPRANO)[1]


def test_the_changing_voice_has_what_both_lists_have():
    assert usual(Voice.CHANGING) == span(FLORIDA[Voice.CHANGING]) == span(LIST_CAMBIATA)


def test_the_baritone_begins_where_two_lists_begin_and_ends_before_either_end():
    low, high = usual(Voice.BARITONE)
    assert low == span(BEERY_LOW)[0] == span(LIST_BASS)[0]
    assert high <= min(span(FLORIDA[Voice.BARITONE])[1], span(LIST_BASS)[1])


def test_changing_and_baritone_share_about_the_fourth_that_collins_names():
    shared = (
        max(usual(v)[0] for v in (Voice.CHANGING, Voice.BARITONE)),
        min(usual(v)[1] for v in (Voice.CHANGING, Voice.BARITONE)),
    )
    told = span(COLLINS_SHARED)
    assert abs(shared[0] - told[0]) <= 2
    assert abs(shared[1] - told[1]) <= 2
