"""What tunes tend to do: numbers set by hand, as factors that multiply.

Nothing here forbids anything; `moves` and `patterns` do that. Every factor is a short decimal or a
quotient, so that products are the same on every machine (no logarithm, no exponential). What they
lean on stands in content/SOURCES.md under Weights. Tones are scale steps above do.
"""

from __future__ import annotations

from typing import NamedTuple

_DO, _RE, _MI, _FA, _SO, _LA, _TI = range(7)

# Repeats 24 %, steps 50 %, thirds 17 %, larger 9 % of moves in folk tunes; two thirds of the steps
# go down, most leaps go up. These are factors beside the others below, not shares.
_UP = {0: 0.8, 1: 1.2, 2: 0.8, 3: 0.5, 4: 0.4, 5: 0.25, 7: 0.2}
_DOWN = {0: 0.8, 1: 1.4, 2: 0.6, 3: 0.3, 4: 0.25, 5: 0.12, 7: 0.1}
_AGAIN = (1.0, 1.0, 0.35, 0.2)  # a repeat after so many equal tones

# A way from degree to degree that the ear expects, or one that sounds lost.
_LEADS = {
    (_TI, _DO): 2.2,
    (_TI, _LA): 0.5,
    (_TI, _RE): 0.5,
    (_TI, _SO): 0.4,
    (_FA, _MI): 1.7,
    (_FA, _RE): 0.6,
    (_LA, _SO): 1.6,
    (_RE, _DO): 1.2,
    (_SO, _MI): 1.2,
}

# Tonic chord tones rest well on strong beats and long notes; the others pass.
_STRONG = {_DO: 1.5, _RE: 0.8, _MI: 1.4, _FA: 0.65, _SO: 1.5, _LA: 0.8, _TI: 0.5}
_LONG = {_DO: 1.1, _RE: 0.9, _MI: 1.2, _FA: 0.35, _SO: 1.5, _LA: 0.7, _TI: 0.35}
_WEAK = {_DO: 0.85, _RE: 1.1, _MI: 1.0, _FA: 1.15, _SO: 0.95, _LA: 1.1, _TI: 1.0}

# How far above the middle of its tones a phrase lies, in eighths of its length: a single phrase
# arches, the first of two rises, the last falls.
_ARCH = (-0.6, 0.0, 0.5, 0.9, 1.0, 0.6, 0.0, -0.8)
_RISING = (-0.8, -0.3, 0.2, 0.6, 0.9, 1.0, 0.9, 0.6)
_FALLING = (0.3, 0.8, 1.0, 0.9, 0.5, 0.1, -0.4, -0.9)

# Where a line lies among many tones: in the middle, lower, higher. A tune keeps to a sixth or so.
LIES = {0: 0.5, -1: 0.25, 1: 0.25}
_WIDE = 7  # scale steps from which on a line may lie lower or higher
_AWAY = 2.0

NEW = 1.8  # the newest element comes rather more often than it must


class Place(NamedTuple):
    """Where a note stands, as far as its weight looks at it.

    `strength` 3 first beat, 2 middle, 1 a beat, 0 between; `length` 0 shorter than a beat, 1 a
    beat, 2 longer; `before` the length of the note before; `phrase` 0 the only one, 1 first,
    2 last; `zone` the eighth of the phrase; `lie` -1 where the line lies low, 1 where high.
    """

    strength: int
    length: int
    before: int
    phrase: int
    zone: int
    lie: int = 0


def move_weight(before: int | None, last: int, to: int, equal: int) -> float:
    """How likely a move is, wherever it stands. Steps above do; `before` differs from `last`."""
    size = abs(to - last)
    weight = (_UP if to > last else _DOWN)[size]
    if size == 0:
        return weight * _AGAIN[min(equal, 3)]
    weight *= _LEADS.get((last % 7, to % 7), 1.0)
    if before is None:
        return weight
    was, same_way = abs(last - before), (to > last) == (last > before)
    if to == before:
        weight *= 0.65 if was == 1 else 0.45  # to and fro
    if was == 1 and size == 1:
        weight *= (1.35 if to < last else 1.15) if same_way else 0.8
    elif was == 1 and size > 2:
        weight *= 0.4 if same_way else 0.8  # a step, then a leap
    elif was > 1 and not same_way:
        weight *= 1.5 if size == 1 else 1.0
    elif was > 1:
        weight *= 0.7
    return weight


def place_weight(step: int, place: Place, lowest: int, highest: int) -> float:
    """How well a tone suits its beat, its length and its place in the phrase."""
    degree = step % 7
    weight = _STRONG[degree] if place.strength >= 2 else _WEAK[degree]
    if place.length == 2:
        weight *= _LONG[degree]
    away = step - _middle(place, lowest, highest)
    return weight * 4.0 / (4.0 + away * away)


def lies(lowest: int, highest: int) -> dict[int, float]:
    """Where a line of these tones may lie, with how often."""
    return LIES if highest - lowest >= _WIDE else {0: 1.0}


def _middle(place: Place, lowest: int, highest: int) -> float:
    centre = min(max((lowest + highest) / 2.0, 1.0), 3.5) + _AWAY * place.lie
    shape = (_ARCH, _RISING, _FALLING)[place.phrase][place.zone]
    return centre + shape * min((highest - lowest) / 4.0, 1.8)


def size_weight(size: int, place: Place) -> float:
    """How well an interval of so many steps suits its place: small ones on short notes."""
    if size == 0:
        # A short note that stays into the next beat stumbles; two eighths on one tone do not.
        return 0.5 if place.before == 0 and place.strength else 1.0
    if size == 1:
        return 1.0
    weight = 1.0
    if place.before == 0:
        weight *= 0.4 if size == 2 else 0.25
    if place.strength == 0:
        weight *= 0.45 if size == 2 else 0.1
    if place.before == 2:
        weight *= 1.2
    return weight


def start_weight(step: int) -> float:
    """How likely a line starts on a tone."""
    return {_DO: 5.0, _MI: 3.0, _SO: 3.0}.get(step % 7, 1.0)


def seam_weight(last: int, to: int) -> float:
    """How likely a new phrase starts there after the tone that ended the one before."""
    size = abs(to - last)
    chord = {_DO: 2.0, _MI: 2.0, _SO: 2.0}.get(to % 7, 0.6)
    return chord * 3.0 / (3.0 + size)
