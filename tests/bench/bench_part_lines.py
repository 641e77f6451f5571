"""How parts sing as lines: surprise of the top of three beside unison, to and fro in lower parts.

Goals of the design: the top line of three is at most 0.30 bits a note more surprising than a unison
line of the step, and at most 0.12 of the moves of a lower part go to and fro (a tone, its neighbour
or a skip away, and back).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from random import Random
from statistics import mean

from bot.errors import NoExercise
from bot.music.composer import Composer
from bot.music.ensemble import Room
from bot.music.exercise import Exercise, Part
from bot.music.part_plans import part_plans
from bot.music.parts import LAYS, PART_RANGES
from bot.music.pitch import Key
from bot.music.texture import parts_needed, texture_of
from bot.music.voice import Voice
from tests.fit.corpus import read
from tests.fit.melody import melody_of
from tests.fit.ngram import pitch_events, pitch_judge
from tests.music.levels import FOUR_FOUR, level, steps_first

_LINES, _IN_PARTS = 60, 24


def run() -> dict[str, float]:
    """Bits a note and shares, on eight measures of 4/4 with a treble voice at the top."""
    judge = pitch_judge(read().left)

    def bits(exercises: Sequence[Exercise]) -> float:
        return mean(mean(judge.bits(pitch_events(melody_of(each)))) for each in exercises)

    figures: dict[str, float] = {}
    for ids in ("p09 v06", "p09 v04", "p09 v05"):
        pitch = level(ids.split()[0])
        composer = Composer(pitch, pitch.tones)
        alone = [
            composer.choose(Random(seed), metre=FOUR_FOUR, measures=8).exercise(Key.parse("F"), 4)
            for seed in range(_LINES)
        ]
        parts = _in_parts(ids)
        tops = [replace(each, parts=each.parts[:1]) for each in parts]
        unison, top = bits(alone), bits(tops)
        figures[f"{ids}: bits a note, a unison line [1]"] = unison
        figures[f"{ids}: bits a note, the top line [1]"] = top
        figures[f"{ids}: more than unison [1]"] = top - unison
        for number in range(1, len(parts[0].parts)):
            share = mean(to_and_fro(each.parts[number]) for each in parts)
            figures[f"{ids}: to and fro in part {number + 1} [1]"] = share
    return figures


def to_and_fro(part: Part) -> float:
    """The share of three tones running of which the third is the first and the second another."""
    tones = part.tones()
    runs = list(zip(tones, tones[1:], tones[2:], strict=False))
    return sum(a == c != b for a, b, c in runs) / max(len(runs), 1)


def _in_parts(ids: str) -> list[Exercise]:
    full = level(*ids.split())
    texture = texture_of(full)
    lay, manner = LAYS[texture]
    ranges = PART_RANGES[Voice.TREBLE, parts_needed(texture)]
    for plan in part_plans(steps_first(), full, ranges, None):
        room = Room(plan, manner, lay)
        found: list[Exercise] = []
        for seed in range(_IN_PARTS):
            try:
                made = room.draw(Random(seed), metre=FOUR_FOUR, measures=8, seen=found)
            except NoExercise:
                made = None
            if made is None:
                break
            found.append(made)
        if len(found) == _IN_PARTS:
            return found
    raise AssertionError(f"no parts at {ids}")
