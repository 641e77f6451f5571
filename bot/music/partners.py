"""Partner lines: lines that were read one by one and now sound together.

Two or three lines of one key, metre and length are put into the ranges of a choir's parts in every
way; a stack is sound when strong beats and long notes are consonant, no fifths, octaves or unisons
run parallel and every part stays within its range. Parts may change places, as partner songs do.
Of the sound ones the best has thirds and sixths on its strong beats, parts that move against each
other and begin notes at different times, few unisons, few harsh weak beats.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations, pairwise, permutations, product

from bot.errors import NoExercise
from bot.music.breach import Breach, Rule, breach_at
from bot.music.check_parts import PartRules, check_parts
from bot.music.exercise import Exercise, Part
from bot.music.voice import VoiceRange

_OCTAVES = range(1, 7)
_SWEET = (3, 4, 8, 9)  # semitones
_HARSH, _UNISON = 0.25, 1.0
_ALWAYS = (Rule.PARALLEL,)


@dataclass(frozen=True, slots=True, kw_only=True)
class PartnerStack:
    """Lines stacked into parts: `lines` says which line each part is, the highest part first.

    `worth` compares stacks of the same lines: more is better.
    """

    exercise: Exercise
    lines: tuple[int, ...]
    worth: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Meeting:
    """How two parts meet, in numbers of places.

    `strong`: strong beats on which both sound, `sweet` of them a third or sixth apart. `moves`:
    steps from one place to the next, `against` with the parts in opposite directions, `alone` with
    one of them staying. `places` at which both sound, `unisons` of them on one pitch.
    """

    strong: int
    sweet: int
    moves: int
    against: int
    alone: int
    places: int
    unisons: int

    @property
    def worth(self) -> float:
        """How well they sound, -1 to 2."""
        sweet = self.sweet / max(self.strong, 1)
        free = (self.against + self.alone / 2) / max(self.moves, 1)
        return sweet + free - _UNISON * self.unisons / max(self.places, 1)


def stack_partners(lines: Sequence[Exercise], ranges: Sequence[VoiceRange]) -> PartnerStack:
    """The best stack of as many lines as there are ranges, the highest first.

    Each line is an exercise of one part, with its words if it has any; all in one key, metre and
    length. Raises NoExercise("refusal.partners") where no choice of lines sounds well together.
    """
    found = best_partners(lines, ranges)
    if not found:
        spans = ", ".join(f"{each.low}-{each.high}" for each in ranges)
        raise NoExercise("refusal.partners", lines=len(lines), parts=len(ranges), ranges=spans)
    return found[0]


def best_partners(
    lines: Sequence[Exercise], ranges: Sequence[VoiceRange]
) -> tuple[PartnerStack, ...]:
    """Every sound stack, one for each choice of lines, best first; ties by the lines' order.

    ValueError where lines have several parts, or differ in key, metre, pickup or length.
    """
    if len({(each.key, each.metre, each.pickup, each.length) for each in lines}) > 1:
        raise ValueError("partner lines share key, metre, pickup and length")
    if any(len(each.parts) > 1 for each in lines):
        raise ValueError("a partner line has one part")
    found = []
    for chosen in combinations(range(len(lines)), len(ranges)):
        if len({lines[number].parts[0].notes for number in chosen}) < len(ranges):
            continue  # the same line twice is no part
        sound = [
            PartnerStack(exercise=stack, lines=order, worth=_worth(stack))
            for order in permutations(chosen)
            for stack in _placed([lines[number] for number in order], ranges)
            if not check_partners(stack, ranges)
        ]
        if sound:
            found.append(max(sound, key=lambda each: each.worth))
    return tuple(sorted(found, key=lambda each: (-each.worth, each.lines)))


def check_partners(exercise: Exercise, ranges: Sequence[VoiceRange]) -> tuple[Breach, ...]:
    """What keeps parts from sounding together: empty for a sound stack.

    Dissonance on a strong beat, a long note or where a phrase begins or ends; parallel fifths,
    octaves and unisons; a tone outside its part's range. `ranges` has one for each part.
    """
    found = [
        breach
        for breach in check_parts(exercise, PartRules(crossing=True))
        if breach.rule in _ALWAYS or (breach.rule is Rule.DISSONANCE and _strong(exercise, breach))
    ]
    for number, (part, limits) in enumerate(zip(exercise.parts, ranges, strict=True)):
        for offset, note in part.timed():
            if note.tone is not None and not limits.holds(exercise.pitch(note.tone, number)):
                pitch = str(exercise.pitch(note.tone, number))
                found.append(breach_at(exercise, offset, Rule.RANGE, pitch))
    return tuple(sorted(found, key=lambda breach: (breach.measure, breach.beat)))


def _strong(exercise: Exercise, breach: Breach) -> bool:
    """Whether a breach lies on a strong beat or where a long note begins."""
    metre = exercise.metre
    offset = (breach.beat - 1) * metre.pulse
    if metre.strength(offset) >= 2:
        return True
    first = 0 if exercise.pickup else 1
    start = (breach.measure - first) * metre.measure + offset
    start -= metre.measure - exercise.pickup if exercise.pickup else 0
    return any(
        at == start and note.tone is not None and note.duration > metre.pulse
        for part in exercise.parts
        for at, note in part.timed()
    )


def _placed(lines: Sequence[Exercise], ranges: Sequence[VoiceRange]) -> Iterator[Exercise]:
    """Lines as parts, in every choice of octaves that keeps them in range."""
    choices: list[list[Part]] = []
    for line, limits in zip(lines, ranges, strict=True):
        tones = set(line.parts[0].tones())
        fits = [
            octave
            for octave in _OCTAVES
            if all(limits.holds(line.key.pitch(t.step, t.alter, octave)) for t in tones)
        ]
        choices.append([replace(line.parts[0], do_octave=octave) for octave in fits])
    for parts in product(*choices):
        yield replace(lines[0], parts=tuple(parts))


def _worth(exercise: Exercise) -> float:
    """How well a sound stack sounds, 0 to about 4 for each pair of parts."""
    pairs = list(combinations(range(len(exercise.parts)), 2))
    harsh = sum(b.rule is Rule.DISSONANCE for b in check_parts(exercise, PartRules(crossing=True)))
    return sum(meeting(exercise, *pair).worth for pair in pairs) / len(pairs) - _HARSH * harsh


def meeting(exercise: Exercise, high: int, low: int) -> Meeting:
    """How two parts of an exercise meet."""
    moments = _moments(exercise, high, low)
    both = [(a, b) for _, a, b in moments if a is not None and b is not None]
    strong = [
        abs(a - b) % 12
        for offset, a, b in moments
        if a is not None and b is not None and exercise.metre.strength(offset) >= 2
    ]
    moves = [(c - a, d - b) for (a, b), (c, d) in pairwise(both)]
    return Meeting(
        strong=len(strong),
        sweet=sum(kind in _SWEET for kind in strong),
        moves=len(moves),
        against=sum(up * down < 0 for up, down in moves),
        alone=sum((up == 0) is not (down == 0) for up, down in moves),
        places=len(both),
        unisons=sum(a == b for a, b in both),
    )


def _moments(
    exercise: Exercise, high: int, low: int
) -> list[tuple[Fraction, int | None, int | None]]:
    """(offset, height of one part, of the other) wherever one of them begins something."""
    rows = [list(exercise.parts[part].timed()) for part in (high, low)]
    found = []
    for offset in sorted({at for row in rows for at, _ in row}):
        heights: list[int | None] = []
        for part, row in zip((high, low), rows, strict=True):
            note = [note for at, note in row if at <= offset][-1]
            tone = note.tone
            heights.append(None if tone is None else exercise.pitch(tone, part).midi)
        found.append((offset, heights[0], heights[1]))
    return found
