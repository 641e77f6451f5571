"""How words are stressed, against hymns and folk songs that were scanned by hand."""

from __future__ import annotations

import tomllib
from itertools import pairwise
from pathlib import Path

from bot.music.set_to_words import set_to_words
from bot.music.voice import DEFAULT_RANGES, Voice
from bot.music.words import Stress
from bot.notation.pronouncing import sung_words
from tests.music.levels import level, steps_first

_FILE = Path(__file__).with_name("scansion.toml")
_COUNTED, _REVERSED, _SUNG_OTHERWISE = 0.97, 0.03, 0.05  # poets bend a word now and then


def lines():
    """Every line that was scanned by hand, with its signs."""
    texts = tomllib.loads(_FILE.read_text(encoding="utf-8"))["text"]
    assert all(text["source"] for text in texts)
    return [(line, scan) for text in texts for line, scan in text["lines"]]


def counted():
    """Share of lines with as many syllables as were scanned."""
    rows = lines()
    return sum(len(sung_words(text).words.syllables) == len(scan) for text, scan in rows) / len(
        rows
    )


def reversed_pairs():
    """Share of neighbours, one stressed and one not, that the hand scanned the other way round."""
    pairs = wrong = 0
    for text, scan in lines():
        syllables = sung_words(text).words.syllables
        if len(syllables) != len(scan):
            continue
        for (one, a), (other, b) in pairwise(zip(syllables, scan, strict=True)):
            if {one.stress, other.stress} == {Stress.NONE, Stress.FULL}:
                pairs += 1
                wrong += (a + b) == ("x/" if one.stress is Stress.FULL else "/x")
    assert pairs > 200
    return wrong / pairs


def test_words_have_as_many_syllables_as_in_song():
    assert counted() >= _COUNTED


def test_stress_lies_where_the_hand_put_it():
    assert reversed_pairs() <= _REVERSED


def test_verses_that_open_stressed_are_sung_as_they_were_scanned():
    """The beats of the music against the hand's signs, not against the dictionary's stress."""
    ranges, full = (DEFAULT_RANGES[Voice.TREBLE],), level("p09", "r04")
    pairs = wrong = 0
    rows = [(text, scan) for text, scan in lines() if scan.startswith("/x") and len(scan) < 9]
    for (first, scan), (second, other) in zip(rows[::2], rows[1::2], strict=False):
        sung = set_to_words(
            steps_first(), full, ranges, sung_words(f"{first} / {second}").words, seed=1
        )
        places = [
            sung.exercise.metre.strength(offset)
            for offset, note in sung.exercise.parts[0].timed()
            if note.tone is not None
        ]
        for signs, strengths in ((scan, places[: len(scan)]), (other, places[len(scan) :])):
            for (a, one), (b, two) in pairwise(zip(signs, strengths, strict=True)):
                if a != b:
                    pairs += 1
                    wrong += (one < two) if a == "/" else (two < one)
    assert pairs > 80
    assert wrong / pairs <= _SUNG_OTHERWISE
