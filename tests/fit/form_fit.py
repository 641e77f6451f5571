"""How often each plan of measures comes: a mixture fitted to whole windows by expectation."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np

from bot.music.sequence import Form
from tests.fit.families import bar_rhythms
from tests.fit.logistic import Floats
from tests.fit.melody import Melody

_ROUNDS = 200
_COPY = 2.0**-40  # a measure that is copied note for note has no tones left to chance


def shares(windows: Sequence[Melody], forms: Sequence[Form]) -> list[float]:
    """The share of each form; windows that no form fits are left out."""
    usual = Counter(rhythm for melody in windows for rhythm in bar_rhythms(melody))
    rows = [[_likely(melody, form, usual) for form in forms] for melody in windows]
    table: Floats = np.array([row for row in rows if sum(row) > 0], dtype=np.float64)
    mixture = np.full(len(forms), 1 / len(forms))
    for _ in range(_ROUNDS):
        parts = table * mixture
        mixture = (parts / parts.sum(axis=1, keepdims=True)).mean(axis=0)
    return [round(float(share), 3) for share in mixture]


def _likely(melody: Melody, form: Form, usual: Counter[object]) -> float:
    """The chance of a window's rhythm and copies under a form; 0 where it breaks the form."""
    rhythms, bars, half = bar_rhythms(melody), melody.bars(), form.measures // 2
    chosen: dict[str, object] = {}
    chance = 1.0
    for letter, rhythm in zip(form.letters, rhythms, strict=True):
        if chosen.setdefault(letter, rhythm) != rhythm:
            return 0.0
    for rhythm in chosen.values():
        chance *= usual[rhythm] / usual.total()
    if form.copied and bars[half : half + form.copied] != bars[: form.copied]:
        return 0.0
    return float(chance / _COPY**form.copied)
