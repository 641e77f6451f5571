"""Frames of a line: metre, length, colours in play, form, lie; the rhythms that each holds."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from copy import copy
from fractions import Fraction
from itertools import combinations
from math import fsum, prod

from bot.music.cell import HELD, Cell
from bot.music.habits import lies_of
from bot.music.held import BarLines, bar_lines, held_texts, held_ways, joined
from bot.music.level import Level
from bot.music.messages import Messages
from bot.music.note_counts import NoteCounts
from bot.music.patterns import PHRASE, Filling, Name, Pattern, may_stand, with_pickup
from bot.music.rhythm import Metre
from bot.music.rhythm_weights import HELD_USUAL, MeasureWeights, colour_share, held_weight
from bot.music.rhythms import Candidate, Path, Rhythms, Sum
from bot.music.sequence import Form

_Plan = tuple[str, tuple[str, ...]]  # the letters of a form, the colours in play
_PHRASES = 2
_WHOLE = 1_000_000_000  # shares are parts of this


class Frame:
    """One metre, length, choice of colours, form, and whether the line lies low or high.

    `share` is how often it comes. Frames of one `ground`, form and choice of colours hold the same
    rhythms.
    """

    def __init__(
        self, ground: Ground, colours: tuple[str, ...], form: Form, lie: int, share: int
    ) -> None:
        self.metre, self.measures = ground.metre, ground.measures
        self.pickup = ground.pickup
        self.form, self.lie, self.share = form, lie, share
        self.ground, self.colours = ground, colours

    @property
    def rhythms(self) -> Rhythms:
        """Its rhythms, summed when first asked for."""
        return self.ground.rhythms(self.form, self.colours)

    def line(self, path: Path) -> tuple[Pattern, ...]:
        """The measures of one rhythm in order."""
        letters = self.ground.order(self.form)
        chosen = [
            candidates[number].pattern
            for candidates, number in zip(self.rhythms.letters, path, strict=True)
        ]
        return self.ground.dressed([chosen[letters.index(letter)] for letter in self.form.letters])


class Ground:
    """What all frames of one metre and length share, with a pickup before each phrase or not.

    No note is held over the bar line behind every so many measures as `breath` says. `lying` are
    the grounds of lines that lie so: others than this one where lines sing their top tone once.
    """

    breath = PHRASE

    def __init__(
        self,
        level: Level,
        metre: Metre,
        measures: int,
        counts: NoteCounts,
        pickup: Cell | None = None,
    ) -> None:
        self.metre, self.measures, self.pickup = metre, measures, pickup
        self._level, self._counts = level, counts
        focus = level.rhythm_focus
        applies = focus is not None and focus.metre in (None, metre) and not focus.pickup
        self.newest = focus.cells if focus is not None and applies else frozenset()
        self.needed = focus.needed(measures) if focus is not None and applies else 0
        self._in_both = bool(focus and applies and focus.apart) and measures > PHRASE
        # Notes of a new cell are kept free of new moves. A new metre is everywhere, and its filling
        # note with it, so there is nothing to keep free.
        self.kept_free = self.newest if focus is not None and focus.metre is None else frozenset()
        self._cells = tuple(cell for cell in level.cells if cell.offsets(metre))
        self.held = held_texts(level, metre)
        self._patterns: dict[tuple[str, ...], tuple[Pattern, ...]] = {}
        self._short: dict[tuple[str, ...], tuple[Pattern, ...]] = {}
        self._standing: dict[Name, Pattern] = {}
        self._usual = MeasureWeights(measures, metre)
        self._letters: dict[_Plan, tuple[list[list[Candidate]], list[int]]] = {}
        self._rhythms: dict[_Plan, Rhythms] = {}
        self._backwards: dict[tuple[tuple[int, bool], ...], Pattern] = {}
        self.lying: Mapping[int, Ground] = dict.fromkeys(lies_of(counts.tones), self)

    def beside(self, counts: NoteCounts) -> Ground:
        """The same ground for lines that need other numbers of notes."""
        other = copy(self)
        other._counts, other._rhythms = counts, {}
        return other

    @property
    def messages(self) -> Messages:
        """The tables for tones over its rhythms."""
        return self._counts.messages

    def frames(self, share: float) -> Iterator[Frame]:
        """Every frame with its part of a share between 0 and 1; empty ones are among them."""
        forms = [form for form in self._level.forms if form.measures == self.measures]
        all_forms = sum(form.weight for form in forms)
        lies = lies_of(self._counts.tones)
        for colours, often in self.colour_choices().items():
            for form in forms:
                for lie, ground in self.lying.items():
                    whole = share * often * lies[lie] * form.weight / all_forms * _WHOLE
                    yield Frame(ground, colours, form, lie, max(round(whole), 1))

    def colour_choices(self) -> dict[tuple[str, ...], float]:
        """Choices of colours (ids of their steps) beside the newest step, with their shares."""
        usual: dict[str, float] = {}
        for cell in self._cells:
            if not cell.plain and cell.text not in self.newest:
                usual[cell.step] = max(usual.get(cell.step, 0.0), cell.weight)
        if self.held and HELD not in self.newest:
            usual[self._level.held[0].step] = HELD_USUAL
        shares: dict[tuple[str, ...], float] = {}
        for number in range(self._level.rules.colours + 1):
            choices = {each: prod(usual[c] for c in each) for each in combinations(usual, number)}
            whole = fsum(choices.values())
            for each, weight in choices.items():
                shares[each] = colour_share(number) * weight / whole
        return shares

    def order(self, form: Form) -> list[str]:
        """The letters of a form, each once, as they first come."""
        return list(dict.fromkeys(form.letters))

    def dressed(self, measures: Sequence[Pattern]) -> tuple[Pattern, ...]:
        """The measures of a line as they stand there, a pickup with the measure behind it."""
        return joined([self.standing(measure, place) for place, measure in enumerate(measures)])

    def rhythms(self, form: Form, colours: tuple[str, ...]) -> Rhythms:
        """All rhythms with the letters of a form and these colours, each of them used."""
        key = (form.letters, colours)
        if key not in self._rhythms:
            self._rhythms[key] = self._sum(form, colours)
        return self._rhythms[key]

    def _sum(self, form: Form, colours: tuple[str, ...]) -> Rhythms:
        first, second = self._counts.caps
        most = Sum(first, second, self.needed, self.bits(len(colours)))
        known = {cell.text for cell in self._cells} | ({HELD} if self.held else set())
        if self.needed and self.newest.isdisjoint(known):
            return Rhythms([[] for _ in self.order(form)], self._counts, most)
        key = (form.letters, colours)
        if key not in self._letters:
            self._letters[key] = self._candidates(form, colours)
        letters, beside = self._letters[key]
        return Rhythms(letters, self._counts, most, beside)

    def bits(self, colours: int) -> int:
        """A bit for each of so many colours; two for the phrases where both need what is newest."""
        return (1 << colours + _PHRASES * self._in_both) - 1

    def _candidates(
        self, form: Form, colours: tuple[str, ...]
    ) -> tuple[list[list[Candidate]], list[int]]:
        """The measures for each letter, and the bar lines beside it, a bit for each."""
        lines = bar_lines(form.letters, self.breath) if self._holds(colours) else {}
        letters, beside = [], []
        for letter in self.order(form):
            places = [place for place, other in enumerate(form.letters) if other == letter]
            here = lines.get(letter, BarLines())
            patterns = (p for p in self._at(places, colours) if self._may_stand(p, places))
            letters.append([c for p in patterns for c in self._ways(p, places, colours, here)])
            beside.append(here.before | here.after)
        return letters, beside

    def _holds(self, colours: tuple[str, ...]) -> bool:
        """Whether notes are held over bar lines in lines with these colours."""
        newest = HELD in self.newest
        return bool(self.held) and (newest or self._level.held[0].step in colours)

    def _may_stand(self, pattern: Pattern, places: Sequence[int]) -> bool:
        free = self._level.rules.free_measures
        if not all(
            may_stand(pattern, place, self.measures, self.metre, free=free) for place in places
        ):
            return False
        if not self._level.both_ways:
            return True
        back = self._backwards[pattern.rhythm]
        return all(
            may_stand(back, self.measures - 1 - place, self.measures, self.metre, free=free)
            for place in places
        )

    def standing(self, pattern: Pattern, place: int) -> Pattern:
        """A measure as it stands in a line: the first of a phrase has the pickup before it."""
        if self.pickup is None or place % PHRASE:
            return pattern
        if pattern.name not in self._standing:
            self._standing[pattern.name] = with_pickup(pattern, self.pickup, self.metre)
        return self._standing[pattern.name]

    def _at(self, places: Sequence[int], colours: tuple[str, ...]) -> tuple[Pattern, ...]:
        """Measures for some places; before a pickup the last one of a phrase leaves it room."""
        if self.pickup is None:
            return self._measures(colours)
        last = {place % PHRASE == PHRASE - 1 for place in places}
        if len(last) > 1:
            return ()
        return self._short_measures(colours) if last.pop() else self._measures(colours)

    def _short_measures(self, colours: tuple[str, ...]) -> tuple[Pattern, ...]:
        if colours not in self._short:
            left = self.pickup.duration if self.pickup else Fraction(0)
            filling = Filling(self._in_play(colours), self.metre, left)
            self._short[colours] = filling.patterns()
        return self._short[colours]

    def _in_play(self, colours: tuple[str, ...]) -> tuple[Cell, ...]:
        return tuple(
            cell
            for cell in self._cells
            if cell.plain or cell.step in colours or cell.text in self.newest
        )

    def _measures(self, colours: tuple[str, ...]) -> tuple[Pattern, ...]:
        if colours not in self._patterns:
            patterns = Filling(self._in_play(colours), self.metre).patterns()
            if self._level.both_ways:
                patterns = self._mirrored(patterns)
            self._patterns[colours] = patterns
        return self._patterns[colours]

    def _mirrored(self, patterns: Sequence[Pattern]) -> tuple[Pattern, ...]:
        """The measures that are measures from the last note to the first too."""
        known = {pattern.rhythm: pattern for pattern in patterns}
        kept = [pattern for pattern in patterns if pattern.rhythm[::-1] in known]
        self._backwards |= {each.rhythm: known[each.rhythm[::-1]] for each in kept}
        return tuple(kept)

    def _ways(
        self, pattern: Pattern, places: Sequence[int], colours: tuple[str, ...], lines: BarLines
    ) -> Iterator[Candidate]:
        """A measure at its places, and as it holds notes over the bar lines beside it."""
        plain = self._candidate(pattern, places, colours)
        yield plain
        for each, line in held_ways(pattern, lines, self.held, mirrored=self._level.both_ways):
            weight = held_weight(plain.weight) if each.over else plain.weight
            yield Candidate(each, weight, self._adds(each, places, colours)._replace(ties=line))

    def _candidate(
        self, pattern: Pattern, places: Sequence[int], colours: tuple[str, ...]
    ) -> Candidate:
        weight = self._usual.of(pattern, places)
        return Candidate(pattern, weight, self._adds(pattern, places, colours))

    def _adds(self, pattern: Pattern, places: Sequence[int], colours: tuple[str, ...]) -> Sum:
        early, bits = sum(place < PHRASE for place in places), 0
        if colours:
            steps = {cell.step for cell in pattern.cells}
            if pattern.over:
                steps.add(self._level.held[0].step)
            bits = sum(1 << bit for bit, step in enumerate(colours) if step in steps)
        phrases, newest = (places[:early], places[early:]), self._new(pattern)
        first, second = (self._notes(pattern, each) for each in phrases)
        if self._in_both and newest:
            bits |= sum(1 << len(colours) + n for n, each in enumerate(phrases) if each)
        return Sum(first, second, newest * len(places), bits)

    def _new(self, pattern: Pattern) -> int:
        """What a measure counts for its newest cells, or its note held over where that is new."""
        often = sum(cell.text in self.newest for cell in pattern.cells)
        often += pattern.over and HELD in self.newest
        focus = self._level.rhythm_focus
        return focus.counted(often, self.measures) if focus and self.needed else often

    def _notes(self, pattern: Pattern, places: Sequence[int]) -> int:
        """Notes of a measure in all its places, pickups before it among them."""
        pickups = sum(place % PHRASE == 0 for place in places) if self.pickup else 0
        return pattern.notes * len(places) + pickups
