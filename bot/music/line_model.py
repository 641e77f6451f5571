"""How likely each way on in a line is: the fitted weights, laid over a table of moves.

The ways on from a context share a chance of 1. Chances are rounded, so that the last bit in which
the exponentials of two machines may differ reaches no draw, and none is rounded to nothing.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from bot.music.habits import RATHER, Place
from bot.music.moves import Moves
from bot.music.traits import TRAITS, Length, Strength, grid
from bot.music.weights import CURVE, LAST, LINE, MINOR, SHARPNESS, START

Floats = NDArray[np.float64]

_DIGITS, _LEAST = 9, 1e-6
_MIDDLE = (1.0, 3.5)  # steps between which the middle of the tones counts as the middle of a tune
_AWAY = 2.0  # steps by which a line may lie lower or higher
_STRENGTHS = (Strength.BETWEEN, Strength.BEAT, Strength.MIDDLE, Strength.FIRST)
_RATHER_NOT = 0.125  # a tone beside the degrees that a place would rather have
_RARE = min(START.values())
# An altered tone wants to go on: how unwelcome it is before a rest, long, and twice (no tune that
# the weights were fitted on has one, so these are set by hand).
_HALTS, _LONG, _TWICE = 4.0, 1.5, 3.0


class LineModel:
    """Chances of ways on, of tones to start on, and of tones to begin another phrase with."""

    def __init__(self, moves: Moves) -> None:
        self.moves = moves
        self._known: dict[Place, Floats] = {}
        # Degrees count from the tonic, which is la in minor.
        steps = [tone.step - moves.tonic for tone in moves.tones]
        self._steps = np.array(steps)
        middle = min(max((steps[0] + steps[-1]) / 2, _MIDDLE[0]), _MIDDLE[1])
        self._high = (self._steps - middle) / 4
        self._last = np.array([LAST[step % 7] for step in steps])
        self._altered = np.array([bool(tone.alter) for tone in moves.tones])
        again = self._altered[moves.tone] & (moves.tone == moves.last)
        self._again = np.where(again, -_TWICE, 0.0)
        scores = _scores(steps, MINOR if moves.tonic else LINE)
        before = np.array([memory.before for memory in moves.memories])  # -1 is the last place
        self._seams = scores[:, :, len(steps)]
        rows = scores[:, :, before, moves.last]
        places = np.broadcast_to(moves.tone.T, (*rows.shape[:2], *moves.tone.T.shape))
        self._ways = np.take_along_axis(rows, places, axis=3)

    def way_weights(self, place: Place) -> Floats:
        """The chance of each way on to a note at a place, shape (ways, contexts)."""
        if place not in self._known:
            self._known[place] = self._way_weights(place)
        return self._known[place]

    def _way_weights(self, place: Place) -> Floats:
        moves = self.moves
        scores = self._ways[_STRENGTHS[place.strength], place.length]
        scores = scores + self._tones(place)[moves.tone.T] + self._again.T
        raised = np.exp(SHARPNESS[place.measure] * scores)
        chances = np.where(moves.legal.T, raised, 0.0)
        whole = chances.sum(axis=1, keepdims=True)
        parts = _rounded(chances / np.where(whole > 0.0, whole, 1.0))
        chosen = parts.T * self._fits(place)[moves.tone]
        ways: Floats = np.where(moves.legal, chosen, 0.0)
        return ways

    def seam_weights(self, place: Place) -> Floats:
        """The chance of [last tone of a phrase, first of the next] for a note at a place."""
        scores = self._seams[_STRENGTHS[place.strength], place.length]
        raised = np.exp(SHARPNESS[place.measure] * (scores + self._tones(place)))
        chances = _rounded(raised / raised.sum(axis=1, keepdims=True))
        return chances * self._fits(place)

    def _fits(self, place: Place) -> Floats:
        """How far each tone may stand at a place: 1, or less where only others are asked for."""
        if not place.degrees:
            return np.ones(len(self._steps))
        other = _RATHER_NOT if place.degrees & RATHER else 0.0
        inside = [bool(place.degrees >> tone.step % 7 & 1) for tone in self.moves.tones]
        return np.where(inside, 1.0, other)

    def start_weights(self) -> Floats:
        """The weight of each tone to begin a line with."""
        return _rounded(np.exp([START.get(int(step), _RARE) for step in self._steps]))

    def _tones(self, place: Place) -> Floats:
        """How much a place speaks for each tone: the curve of the phrase, and how it ends."""
        rise, bend, home = CURVE[place.phrase][place.measure]
        high = self._high - _AWAY / 4 * place.lie
        curve: Floats = rise * high + bend * high * high + home * (self._steps % 7 == 0)
        waits = _HALTS * place.halts + _LONG * (place.length == Length.LONG)
        curve = curve - waits * self._altered
        return curve + self._last if place.ends and place.phrase == 1 else curve


def _scores(steps: list[int], weights: Mapping[str, float]) -> Floats:
    """The sum of weights of every way on, shape (strength, length, before, last, to)."""
    ways = grid(steps)
    shape = np.broadcast_shapes(*(np.shape(each) for each in (
        ways.strength, ways.length, ways.before, ways.last, ways.to
    )))  # fmt: skip
    total: Floats = np.zeros(shape)
    for name, weight in weights.items():
        total += weight * TRAITS[name](ways)
    return total


def _rounded(chances: Floats) -> Floats:
    return np.maximum(np.round(chances, _DIGITS), _LEAST)
