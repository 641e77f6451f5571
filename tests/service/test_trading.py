"""Which voices can take each other's line when they sing again."""

from dataclasses import replace

import pytest

from bot.music.exercise import Exercise
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.voice import Voice, VoiceRange
from bot.service.placing import trading_parts
from tests.fakes.choirs import CHANGING, TREBLE, a_choir, a_line, a_reading

_PART_TWO = replace(
    TREBLE, voice=Voice.CHANGING, label="Part II", range=VoiceRange.parse("Bb3-C5", "C4-A4")
)


def _reading(upper, lower, do_octaves=(4, 4), voices=(Voice.TREBLE, Voice.CHANGING)):
    exercise = Exercise(
        key=Key.parse("F"), metre=Metre.parse("4/4"), parts=(a_line(*upper), a_line(*lower))
    )
    whole = a_reading(exercise=exercise)
    parts = tuple(
        replace(
            whole.parts[0],
            voice=voice,
            label=f"Part {'I' * (line + 1)}",
            line=line,
            do_octave=octave,
        )
        for line, (voice, octave) in enumerate(zip(voices, do_octaves, strict=True))
    )
    return replace(whole, parts=parts)


@pytest.mark.parametrize(
    ("upper", "lower", "trade"),
    [
        ((0, 2, 4, 2, 2, 1), (0, 0, 2, 0, 0, -1), ("Part I", "Part II")),
        ((0, 2, 5, 4, 2, 1), (0, 0, 2, 0, 0, -1), None),  # d" is above the second part
        ((0, 2, 4, 2, 2, 1), (0, 0, 2, -4, 0, -1), None),  # b flat is below the first
    ],
)
def test_two_parts_trade_where_each_reaches_the_other_line(upper, lower, trade):
    choir = a_choir(voices=(replace(TREBLE, range=VoiceRange.parse("C4-E5", "D4-C5")), _PART_TWO))
    assert trading_parts(_reading(upper, lower), choir) == trade


def test_parts_of_one_voice_trade_as_they_divide():
    reading = _reading((0, 2, 4, 2, 2, 1), (0, 0, 2, 0, 0, -1), voices=(Voice.TREBLE, Voice.TREBLE))
    assert trading_parts(reading, a_choir()) == ("Part I", "Part II")


def test_voices_an_octave_apart_or_with_one_line_do_not_trade():
    choir = a_choir(voices=(TREBLE, CHANGING))
    assert trading_parts(_reading((0, 2, 4, 2, 2, 1), (0, 0, 2, 0, 0, -1), (4, 3)), choir) is None
    one = _reading((0, 2, 1), (0, 2, 1))
    alike = replace(one, parts=tuple(replace(part, line=0) for part in one.parts))
    assert trading_parts(alike, choir) is None


def test_nobody_trades_with_a_voice_that_the_choir_has_lost():
    assert trading_parts(_reading((0, 2, 1), (0, 0, -1)), a_choir()) is None
