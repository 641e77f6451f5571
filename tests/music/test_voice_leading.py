"""Heights that tell an augmented fifth from a sixth, and what is consonant, as music21 has it."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from music21.interval import Interval
from music21.musedata.base40 import pitchToBase40
from music21.pitch import Pitch as Music21Pitch

from bot.music.breach import Rule
from bot.music.check_parts import PartRules, check_parts
from bot.music.pitch import LETTERS, Key, Pitch
from bot.music.syllable import tone_of
from bot.music.voice_leading import Manner, consonant
from tests.music.lines import line

_KEY = Key.parse("F")
_TONES = ["do", "re", "mi", "fa", "fi", "so", "si", "la", "te", "ti"]


def _music21(pitch: Pitch) -> Music21Pitch:
    return Music21Pitch(pitch.plain.replace("b", "-"))


def test_forty_to_the_octave_as_music21_counts_them():
    for letter, alter, octave in product(LETTERS, (-2, -1, 0, 1, 2), (3, 4, 5)):
        pitch = Pitch(letter=letter, alter=alter, octave=octave)
        assert pitch.base40 == pitchToBase40(_music21(pitch)), pitch


@pytest.mark.parametrize(("above", "below"), list(product(_TONES, repeat=2)))
def test_what_sounds_together_on_a_strong_beat_is_consonant_to_music21_too(above, below):
    tones = tone_of(above), tone_of(below)
    high, low = (
        _KEY.pitch(tone.step, tone.alter, octave)
        for tone, octave in zip(tones, (5, 4), strict=True)
    )
    asked = Interval(_music21(low), _music21(high)).isConsonant()

    heights = [np.array(high.base40), np.array(low.base40)]
    both = [line(f"{tone}:w | do:w").parts[0] for tone in (above, below)]
    whole = replace(line("do:w | do:w"), parts=(replace(both[0], do_octave=5), both[1]))
    found = {breach.rule for breach in check_parts(whole, PartRules()) if breach.measure == 1}

    assert bool(consonant(heights, (0, 1), Manner())) is asked
    assert (Rule.DISSONANCE not in found) is asked
