"""The film to sing along with: how many times faster than it plays it is made."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from bot.media.clip import planned
from bot.media.render import make
from bot.media.request import Captions, ClipRequest
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.voice import Clef
from tests.bench import median_s

_STEPS = (0, 1, 2, 0, 2, 3, 4, 4, 4, 3, 2, 1, 2, 1, 0, 0) * 2
_EIGHT = Exercise(
    key=Key.parse("F"),
    metre=Metre(),
    parts=(Part(notes=tuple(Note(duration=Fraction(1, 4), tone=Tone(step=s)) for s in _STEPS)),),
)
_CLIP = ClipRequest(
    exercise=_EIGHT,
    clef=Clef.TREBLE,
    curtain=Fraction(17),
    captions=Captions(
        key="The key.", start="First note.", count="Count in.", sing="Sing.", away="Sing on.",
        again="Once more.",
    ),
    tempo_bpm=69,
)  # fmt: skip


def run() -> dict[str, float]:
    """Medians of five for eight measures at 69; times real time; the file in MB."""
    make(replace(_CLIP, curtain=Fraction(9)))  # fonts and tables are read
    taken = median_s(lambda: make(_CLIP), runs=5)
    length_s = planned(_CLIP)[0].length_s
    return {
        f"clip of {length_s:.0f} s": taken,
        "times real time [x]": length_s / taken,
        "size [MB]": len(make(_CLIP)) / 1e6,
    }
