"""What the rhythms of a metre and length share where words are sung to them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache, partial
from typing import NamedTuple, cast

from bot.music.cell import HELD, Cell
from bot.music.composer import Composer
from bot.music.exercise import Tone
from bot.music.frames import Frame, Ground
from bot.music.held import BarLines, held_ways, joined
from bot.music.level import Level
from bot.music.note_counts import NoteCounts
from bot.music.patterns import PHRASE, Pattern, Role, may_stand, role_of
from bot.music.rhythm import Metre
from bot.music.rhythm_weights import held_weight, measure_weight
from bot.music.rhythms import Candidate, Rhythms, Sum
from bot.music.sequence import Form
from bot.music.word_moves import WordMoves
from bot.music.word_rhythms import MOST_BENT, WordRhythms
from bot.music.word_tables import WordTables
from bot.music.words import Words

_LETTERS = "abcdefghijklmnop"
_SEAM = ""  # the letter of the choice where the second half begins
_LATEST = 3  # colours that are still fresh
_LIMITS = (0, 2, MOST_BENT)  # bent stresses; sums with few of them are small
_COLOURS = 1  # kinds of cells beside the plain ones and the newest: words are enough to think of

Chords = Mapping[tuple[int, int], int]  # (measure, ticks in it) -> degrees as bits


class Reach(NamedTuple):
    """Syllables that a length takes at least and at most, and up to which of the words' it came."""

    least: int
    most: int
    furthest: int


class WordGround(Ground):
    """Measures for words. `chords` says which degrees a strong place may have, where given."""

    def __init__(
        self,
        words: Words,
        chords: Chords,
        tables: WordTables,
        level: Level,
        metre: Metre,
        measures: int,
        counts: NoteCounts,
        pickup: Cell | None,
    ) -> None:
        super().__init__(level, metre, measures, counts, pickup)
        if HELD not in self.newest:  # words are enough to think of
            self.held = frozenset()
        self._words, self._chords = words, chords
        self._kept = tables.of(words, level, metre, measures, pickup)
        self.fit = self._kept.fit
        self._least: int | None = None  # how often the best of its rhythms bend stress, once known

    def frames(self, share: float) -> Iterator[Frame]:
        """The frames that bend the words least."""
        best = {colours: each.bent for colours, each in self._untied().items() if each.total}
        least = min(best.values(), default=0)
        found = [
            frame
            for frame in super().frames(share)
            if best.get(frame.colours) == least and self._rhythms_of(frame).total
        ]
        return (frame for frame in found if self._rhythms_of(frame).bent == least)

    def reach(self) -> Reach:
        """How many syllables the measures take, and how far these words come."""
        sizes = [
            [
                self.standing(p, place).notes
                for colours in self.colour_choices()
                for p in self._at([place], colours)
                if self._may_be(p, place)
            ]
            for place in range(self.measures)
        ]
        furthest = max(each.furthest for each in self._untied().values())
        return Reach(sum(map(min, sizes)), sum(map(max, sizes)), furthest)

    def best(self) -> WordRhythms | None:
        """The rhythms without ties between measures that do best; None where there are none."""
        sung = [each for each in self._untied().values() if each.total]
        return min(sung, key=lambda each: each.bent, default=None)

    def _untied(self) -> dict[tuple[str, ...], WordRhythms]:
        form = Form(letters=_LETTERS[: self.measures], weight=1)
        found: dict[tuple[str, ...], WordRhythms] = {}
        for colours in self.colour_choices():
            found[colours] = rhythms = cast("WordRhythms", self.rhythms(form, colours))
            if rhythms.total and (self._least is None or rhythms.bent < self._least):
                self._least = rhythms.bent
        return found

    def _measures(self, colours: tuple[str, ...]) -> tuple[Pattern, ...]:
        """The measures with these colours; the same measure is the same object for all of them."""
        same = self._kept.same
        return tuple(same.setdefault(each.name, each) for each in super()._measures(colours))

    def _candidate(
        self, pattern: Pattern, places: Sequence[int], colours: tuple[str, ...]
    ) -> Candidate:
        """A measure at its places, with what words need of it."""
        key = (id(pattern), tuple(role_of(place, self.measures) for place in places))
        weights = self._kept.weights
        if key not in weights:
            weights[key] = _weight(pattern, tuple(places), self.measures, self.metre)
        steps = {cell.step for cell in pattern.cells}
        newest = self._new(pattern) * len(places)
        bits = sum(1 << bit for bit, step in enumerate(colours) if step in steps)
        adds = Sum(newest=newest, colours=bits)
        return Candidate(self.standing(pattern, places[0]), weights[key], adds)

    def _sung_ways(
        self, pattern: Pattern, places: Sequence[int], colours: tuple[str, ...], lines: BarLines
    ) -> Iterator[Candidate]:
        """A measure at its places, and as it holds notes over bar lines where that is new."""
        plain = self._candidate(pattern, places, colours)
        yield plain
        for way, _ in held_ways(pattern, lines, self.held):
            each = self._kept.same.setdefault(way.name, way)
            adds = plain.adds._replace(newest=self._new(each) * len(places))
            weight = held_weight(plain.weight) if each.over else plain.weight
            yield Candidate(self.standing(each, places[0]), weight, adds)

    def _rhythms_of(self, frame: Frame) -> WordRhythms:
        return cast("WordRhythms", frame.rhythms)

    def colour_choices(self) -> dict[tuple[str, ...], float]:
        """Choices of colours: none, or one of those that were learnt last."""
        found = super().colour_choices()
        last = sorted({step for each in found for step in each})[-_LATEST:]
        return {
            each: share
            for each, share in found.items()
            if len(each) <= _COLOURS and set(each) <= set(last)
        }

    def order(self, form: Form) -> list[str]:
        """Where the second half begins, then the letters, halves side by side."""
        return [_SEAM, *(form.letters[step[0]] for step in self._steps(form))]

    def dressed(self, measures: Sequence[Pattern]) -> tuple[Pattern, ...]:
        """The measures with the degrees that strong and long notes may have."""
        whole = joined(measures)
        if not self._chords:
            return whole
        found = []
        for number, measure in enumerate(whole):
            struck = tuple(
                each._replace(degrees=self._chords.get((number, each.offset), 0))
                if each.strength >= 2 or each.length == 2
                else each
                for each in measure.struck
            )
            found.append(replace(measure, struck=struck))
        return tuple(found)

    def _tied(self, form: Form) -> bool:
        return len(set(form.letters)) < len(form.letters)

    def _steps(self, form: Form) -> list[tuple[int, ...]]:
        """The measures that each choice fills."""
        if not self._tied(form):
            return [(measure,) for measure in range(self.measures)]
        half = self.measures // 2
        found: list[tuple[int, ...]] = []
        for measure in range(half):
            other = measure + half
            same = form.letters[measure] == form.letters[other]
            found += [(measure, other)] if same else [(measure,), (other,)]
        return found

    def _follows(self, form: Form) -> bool:
        """Whether measures share a rhythm only with their counterpart in the other half."""
        return len(self._steps(form)) == len(set(form.letters))

    def _sum(self, form: Form, colours: tuple[str, ...]) -> Rhythms:
        steps = self._steps(form)
        phrases = self.measures > PHRASE or self._tied(form)
        half = self.measures // 2 if phrases else self.measures
        choices = [self._choice(step, colours, half) for step in steps]
        seams = self._seams(half) if self._follows(form) else []
        most = Sum(newest=self.needed, colours=(1 << len(colours)) - 1)
        known = self._kept.rhythms
        for limit in self._limits():
            key = (form.letters, colours, tuple(seams), limit)
            if key not in known:
                known[key] = WordRhythms(choices, seams, self.fit, most, half, limit)
            if known[key].total and known[key].bent <= limit:
                break
        return known[key]

    def _limits(self) -> Sequence[int]:
        """How often stress may be bent, tried in turn; nothing worse than the best is asked for."""
        return _LIMITS if self._least is None else (self._least,)

    def _choice(self, places: tuple[int, ...], colours: tuple[str, ...], half: int) -> WordMoves:
        """The measures for places that share one; the same for every form."""
        key = (places, colours, half)
        known = self._kept.choices
        if key not in known:
            candidates = [
                candidate
                for pattern in self._at(places, colours)
                if all(self._may_be(pattern, place) for place in places) and self._alike(places)
                for candidate in self._sung_ways(pattern, places, colours, _beside(places, half))
            ]
            known[key] = WordMoves(candidates, places, self.fit)
        return known[key]

    def _alike(self, places: Sequence[int]) -> bool:
        """Whether measures that share a rhythm all have a pickup before them, or none."""
        return self.pickup is None or len({place % PHRASE == 0 for place in places}) == 1

    def _may_be(self, pattern: Pattern, place: int) -> bool:
        role = role_of(place, self.measures)
        if role is Role.OPEN:
            return not pattern.struck[0].rest
        if role in (Role.HALF, Role.CLOSE):
            return may_stand(pattern, place, self.measures, self.metre)
        return bool(pattern.notes) or may_stand(pattern, place, self.measures, self.metre)

    def _seams(self, half: int) -> list[int]:
        """How many syllables may come before the second half so that tones fit both."""
        total = len(self.fit.syllables)
        if half == self.measures:
            return [total] if self._counts.fits(total) else []
        if self.measures <= PHRASE:
            return [*range(1, total)] if self._counts.fits(total) else []
        ends = list(self._words.line_ends[:-1])
        if not ends:
            inside = [n for n in range(1, total) if not self.fit.syllables[n - 1].goes_on]
            pauses = [n for n in inside if self.fit.syllables[n - 1].pause]
            ends = pauses or [n for n in inside if self.fit.rounds_off(n)] or inside
        return [end for end in ends if self._counts.fits(end, total - end)]


def _beside(places: Sequence[int], half: int) -> BarLines:
    """The bar lines beside measures over which notes may be held: none between halves or phrases.

    Which neighbours go on with a held note is for the words to settle, measure by measure.
    """
    inner = min(PHRASE, half)
    before, after = (all((place + step) % inner for place in places) for step in (0, 1))
    return BarLines(int(before), int(after))


@lru_cache(maxsize=1 << 15)
def _weight(pattern: Pattern, places: tuple[int, ...], measures: int, metre: Metre) -> int:
    """As `measure_weight`; the same for every text at a step."""
    return measure_weight(pattern, places, measures, metre)


class WordComposer(Composer):
    """Draws lines whose rhythms are those of the words, in one metre and length at a time.

    `pickup` says whether its lines begin before the bar; `tables` are those of other lines for the
    same words.
    """

    def __init__(
        self,
        level: Level,
        tones: tuple[Tone, ...],
        words: Words,
        chords: Chords | None = None,
        tables: WordTables | None = None,
    ) -> None:
        ground = partial(WordGround, words, chords or {}, tables or WordTables())
        super().__init__(level, tones, ground=ground)
        self.pickup = False

    def frames(
        self, metre: Metre | None, measures: int | None, *, pickups: bool = True
    ) -> tuple[Frame, ...]:
        """The frames of a metre and length."""
        assert metre is not None, "words have their metre and length by now"
        assert measures is not None, "words have their metre and length by now"
        return tuple(self.ground(metre, measures, pickup=self.pickup and pickups).frames(1.0))

    def words_ground(self, metre: Metre, measures: int, *, pickup: bool) -> WordGround:
        """What the rhythms for the words share."""
        found = self.ground(metre, measures, pickup=pickup)
        assert isinstance(found, WordGround)
        return found
