"""The lines of a level on one ground with one choice of colours, counted exactly and numbered.

The same tables as for drawing, with every weight 1 and whole numbers without limit.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from bot.music.composer import Composer
from bot.music.frames import Ground
from bot.music.habits import AFTER_QUICK, ON_QUICK
from bot.music.messages import Beginning
from bot.music.patterns import PHRASE, Name
from bot.music.rhythms import Candidate

Counts = NDArray[Any]  # whole numbers of Python, shape (width, contexts)


class _Needs(NamedTuple):
    """What the rest of a line still needs of its rhythm, and what lines both ways have to know.

    `over` if the last note goes on; `fresh` if it was a new one, `sung` notes so far, two for more;
    `quick` if the last note was shorter than an eighth.
    """

    newest: int
    colours: int
    over: bool = False
    fresh: bool = False
    sung: int = 0
    quick: bool = False

    @property
    def met(self) -> bool:
        """Whether nothing is needed."""
        return self.newest == self.colours == 0


class _Spot(NamedTuple):
    """A point in a line: in `measure` before its `note`; before the rhythm is chosen -1.

    `candidate` is the number of the measure's rhythm, `needs` what is needed after it, `before`
    what was needed before it.
    """

    measure: int
    note: int
    candidate: int
    needs: _Needs
    context: int
    hits: int
    before: _Needs


class Chapter:
    """The lines on one ground with one choice of colours, each of them used."""

    def __init__(
        self,
        composer: Composer,
        ground: Ground,
        letters: Sequence[Sequence[Candidate]],
        colours: int,
    ) -> None:
        self._measures = ground.measures
        self._messages = ground.messages
        self.letters = [
            [each._replace(pattern=ground.standing(each.pattern, place)) for each in row]
            for place, row in enumerate(letters)
        ]
        self._free = ground.kept_free
        self._both_ways = composer.level.both_ways
        self._first = _Needs(ground.needed, ground.bits(colours))
        self._start = _Spot(0, -1, -1, self._first, -1, self._messages.hits, self._first)
        self._legal = self._messages.moves.legal.astype(np.int64).astype(object)
        self._known: dict[tuple[int, _Needs], Counts] = {}
        self._inside: dict[tuple[object, ...], list[Counts]] = {}

    @cached_property
    def size(self) -> int:
        """The number of lines."""
        start = self._start
        return sum(count for _, count, _ in self._options(start))

    def begins(self, tones: list[int]) -> bool:
        """Whether some of the lines begin like one with these tones."""
        beginning = self._messages.beginning_of(tones)
        return beginning in [label for label, _, _ in self._messages.openings()]

    def find(self, names: list[Name]) -> list[int] | None:
        """The candidates that have these names and use every colour; None where there are none."""
        found, needs = [], self._first
        for measure, name in enumerate(names):
            for number, candidate in self._going_on(measure, needs):
                if candidate.pattern.name == name:
                    found.append(number)
                    needs = self._after(needs, candidate)
                    break
            else:
                return None
        return found if needs.met else None

    def _after(self, needs: _Needs, candidate: Candidate) -> _Needs:
        adds, new = candidate.adds, self._new(candidate)
        newest, colours = max(needs.newest - adds.newest, 0), needs.colours & ~adds.colours
        quick = (needs.quick, *candidate.pattern.quick)[-1]
        left = _Needs(newest, colours, candidate.pattern.over, quick=quick)
        if self._both_ways and new:
            return left._replace(fresh=new[-1], sung=min(needs.sung + len(new), 2))
        return left

    def unrank(self, number: int) -> tuple[list[int], list[int]]:
        """Candidates and tones of a line by its number."""
        patterns: list[int] = []
        tones: list[int] = []
        spot = self._start
        while options := self._options(spot):
            for label, count, after in options:
                if number < count:
                    chosen = label if isinstance(label, int) else label[0]
                    (patterns if spot.note < 0 else tones).append(chosen)
                    spot = after
                    break
                number -= count
        return patterns, tones

    def rank(self, patterns: list[int], tones: list[int]) -> int:
        """The number of a line; ValueError where a choice in it is impossible."""
        number = 0
        rhythm = iter(patterns)
        melody = iter((self._messages.beginning_of(tones), *tones[1:]))
        spot = self._start
        while options := self._options(spot):
            wanted = next(rhythm) if spot.note < 0 else next(melody)
            for label, count, after in options:
                if label == wanted:
                    spot = after
                    break
                number += count
            else:
                raise ValueError(f"measure {spot.measure + 1} cannot go on with {wanted}")
        return number

    def _options(self, spot: _Spot) -> list[tuple[Beginning, int, _Spot]]:
        """What can be chosen at a point, how many lines go on from each, and where it leads."""
        if spot.measure == self._measures:
            return []
        if spot.note < 0:
            return [each for each in self._rhythms(spot) if each[1]]
        return [each for each in self._tones(spot) if each[1]]

    def _going_on(self, measure: int, needs: _Needs) -> Iterator[tuple[int, Candidate]]:
        """The rhythms of a measure that go on with the note before it, or with none."""
        for number, candidate in enumerate(self.letters[measure]):
            if bool(candidate.pattern.held) is needs.over:
                yield number, candidate

    def _rhythms(self, spot: _Spot) -> Iterable[tuple[int, int, _Spot]]:
        for number, candidate in self._going_on(spot.measure, spot.needs):
            needs = self._after(spot.needs, candidate)
            after = spot._replace(note=0, candidate=number, needs=needs, before=spot.needs)
            if not candidate.pattern.notes:
                after = after._replace(measure=spot.measure + 1, note=-1)
                yield (
                    number,
                    int(self._from(spot.measure + 1, needs)[spot.hits, spot.context]),
                    after,
                )
            elif spot.context < 0:
                yield number, sum(count for _, count, _ in self._options(after)), after
            else:
                inside = self._through(spot.measure, candidate, needs, spot.needs)
                yield number, int(inside[0][spot.hits, spot.context]), after

    def _tones(self, spot: _Spot) -> Iterable[tuple[Beginning, int, _Spot]]:
        moves, hits = self._messages.moves, self._messages.hits
        candidate = self.letters[spot.measure][spot.candidate]
        inside = self._through(spot.measure, candidate, spot.needs, spot.before)
        after, new = inside[spot.note + 1], self._new(candidate)[spot.note]
        ways: list[tuple[Beginning, int, bool]]
        if spot.context < 0:
            ways = [
                (label, context, moves.first_hit[tone])
                for label, tone, context in self._messages.openings()
            ]
        elif spot.note == 0 and spot.measure == PHRASE:
            last, block = int(moves.last[spot.context]), moves.block[spot.context]
            seam = self._weights(spot.measure, candidate, 0, spot.before)
            ways = [
                (tone, context, moves.arrives[last][tone])
                for tone, context in enumerate(moves.fresh[block].tolist())
                if context >= 0 and seam[last, tone]
            ]
        else:
            table = self._weights(spot.measure, candidate, spot.note, spot.before)
            weights = table[:, spot.context]
            ways = [
                (
                    int(moves.tone[k, spot.context]),
                    int(moves.to[k, spot.context]),
                    bool(moves.hit[k, spot.context]),
                )
                for k in np.flatnonzero(weights)
            ]
        final = spot.note + 1 == candidate.pattern.notes
        for label, context, hit in ways:
            if hit and new:
                continue
            needed = max((hits if spot.context < 0 else spot.hits) - hit, 0)
            yield (
                label,
                int(after[needed, context]),
                spot._replace(
                    measure=spot.measure + final,
                    note=-1 if final else spot.note + 1,
                    context=context,
                    hits=needed,
                ),
            )

    def _from(self, measure: int, needs: _Needs) -> Counts:
        """How many ways lead from the start of a measure to the end, for each context."""
        messages = self._messages
        if measure == self._measures:
            done = messages.finish().astype(np.int64).astype(object)
            return done if needs.met else done * 0
        if (measure, needs) not in self._known:
            total = messages.finish().astype(np.int64).astype(object) * 0
            for _, candidate in self._going_on(measure, needs):
                after = self._after(needs, candidate)
                total = total + self._through(measure, candidate, after, needs)[0]
            self._known[measure, needs] = total
        return self._known[measure, needs]

    def _new(self, candidate: Candidate) -> tuple[bool, ...]:
        return candidate.pattern.fresh(self._free)

    def _through(
        self, measure: int, candidate: Candidate, needs: _Needs, before: _Needs
    ) -> list[Counts]:
        """Counts before each note of a measure and after its last one.

        The first of a line has no context before it, so nothing stands there.
        """
        new = self._new(candidate)
        quick = (before.quick, *candidate.pattern.quick)
        key = (measure, new, needs, before.fresh, before.sung, quick)
        if key not in self._inside:
            messages = self._messages
            found = [self._from(measure + 1, needs)]
            for note in range(len(new) - 1, -1, -1):
                weights = self._weights(measure, candidate, note, before)
                if measure == 0 and note == 0:
                    found.append(found[-1] * 0)
                elif measure == PHRASE and note == 0:
                    found.append(messages.back_over_seam(found[-1], weights))
                else:
                    fewer = messages.fewer(found[-1])
                    found.append(messages.back(found[-1], fewer, weights))
            found.reverse()
            self._inside[key] = found
        return self._inside[key]

    def _weights(self, measure: int, candidate: Candidate, note: int, before: _Needs) -> Counts:
        messages, moves = self._messages, self._messages.moves
        new = self._new(candidate)
        after_new = new[note - 1] if note else before.fresh
        if measure == PHRASE and note == 0:
            seams = messages.seams(new=new[0], after_new=after_new)
            return seams.astype(np.int64).astype(object)
        weights = np.where(moves.hit, 0, self._legal) if new[note] else self._legal
        second = before.sung + note == 1
        weights = messages.come_back(weights, second=second, after_new=after_new)
        quick = (before.quick, *candidate.pattern.quick)[note : note + 2]
        weights = messages.after_quick(weights, quick[0] * AFTER_QUICK | quick[1] * ON_QUICK)
        if note + 1 == len(new) and measure == self._measures - 1:
            weights = messages.last_only(weights, new=new[note])
        elif note + 1 == len(new) and measure % PHRASE == PHRASE - 1:
            weights = messages.half_only(weights)
        return weights.astype(np.int64).astype(object)
