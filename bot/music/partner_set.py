"""A set of partner lines: lines over one ground of which any two or three sound well together.

The first line is composed over the ground; many are then composed against it, and among all of
them those are sought that go together best, in every choice of two and of three. Where a step has
no lines that agree in threes, those are taken that agree in twos.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from functools import partial
from math import comb
from random import Random

from bot.errors import NoExercise
from bot.music.composer import compose
from bot.music.exercise import Exercise
from bot.music.level import Level, any_climax
from bot.music.offers import lengths_offered, metres_offered
from bot.music.partner_pool import GOOD, MOST_LINES, Pool, Stack
from bot.music.patterns import PHRASE
from bot.music.pitch import Key
from bot.music.placement import wrong_mode
from bot.music.rhythm import Metre
from bot.music.shared_ground import SharedGround
from bot.music.variants import together
from bot.music.voice import VoiceRange

FEWEST, MOST = 2, 4  # lines of a set
_LENGTHS = (PHRASE, 2 * PHRASE)  # measures that a ground has
_TRIES = 6  # first lines, each over a ground of its own
_FULL = 3  # of the tries, those with the newest tone as often as usual

Told = Callable[[int, int], None]  # how many lines are there, of how many


@dataclass(frozen=True, slots=True, kw_only=True)
class PartnerSet:
    """Lines over one ground; each has one part and is for all voices, octaves apart.

    `do_octaves` are the voices' octaves of do where all sing one line. `pairs` has every two lines,
    `triples` the threes that sound well together (all of them, where the step lets it be), the best
    first. `less_new`: the newest tone or skip comes less often than in a line alone.
    """

    ground: SharedGround
    lines: tuple[Exercise, ...]
    do_octaves: tuple[int, ...]
    pairs: tuple[Stack, ...]
    triples: tuple[Stack, ...]
    less_new: bool = False

    def stack(self, chosen: Sequence[int]) -> Stack:
        """The stack of some lines; KeyError where they do not sound together."""
        for each in (*self.pairs, *self.triples):
            if each.chosen == tuple(sorted(chosen)):
                return each
        raise KeyError(tuple(chosen))


def partner_set(
    level: Level,
    ranges: Sequence[VoiceRange],
    count: int,
    *,
    key: Key | None = None,
    metre: Metre | None = None,
    measures: int | None = None,
    seed: int,
    seen: Collection[Exercise] = (),
    told: Told = lambda _done, _whole: None,
) -> PartnerSet:
    """Compose a set of 2 to 4 lines for one to three voices, the highest first.

    No line is in `seen`. The same arguments give the same set. Raises NoExercise with the rule:
    what `together` and `compose` raise, "refusal.partner_set" where no such lines agree; ValueError
    for another number of lines.
    """
    if not FEWEST <= count <= MOST:
        raise ValueError(f"{count} partner lines: there are sets of {FEWEST} to {MOST}")
    if wrong := wrong_mode(level, key):
        raise wrong
    level = _begun_together(level)
    placement = together(level, ranges, key)
    read = [alone(each, part) for each in seen for part in range(len(each.parts))]
    found: PartnerSet | None = None
    for attempt in range(_TRIES):
        # S311: the same seed has to give the same set.
        random = Random(zlib.crc32(f"{seed} {attempt}".encode()))  # noqa: S311
        shape = _shape(level, metre, measures, random)
        eased = level if attempt < _FULL else _without_focus(level)
        pool = Pool(eased, placement, ranges, shape, random, read)
        pool.fill(count, partial(_tell, told, attempt))
        best = pool.best(count)
        if best is None:
            continue
        lines, stacks = best
        made = PartnerSet(
            ground=pool.ground,
            lines=lines,
            do_octaves=placement.do_octaves,
            pairs=tuple(stack for stack in stacks if len(stack.lines) == 2),
            triples=tuple(stack for stack in stacks if len(stack.lines) == 3),
            less_new=eased is not level,
        )
        found = max(found or made, made, key=_rank)
        if _rank(found) >= (comb(count, 3), GOOD):
            break
    if found is None:
        # A rule that leaves no line alone is the reason that there are none together.
        compose(level, placement, ranges, metre=metre, measures=measures, seed=seed)
        raise NoExercise("refusal.partner_set", lines=count, step=", ".join(level.steps[:2]))
    return found


def _tell(told: Told, attempt: int, done: int) -> None:
    told(attempt * MOST_LINES + min(done, MOST_LINES), _TRIES * MOST_LINES)


def _rank(found: PartnerSet) -> tuple[int, float]:
    """What makes one set better than another: threes that agree, then what agrees least."""
    worths = [each.worth for each in (*found.pairs, *found.triples)]
    return len(found.triples), min(*worths, GOOD)


def alone(exercise: Exercise, part: int) -> Exercise:
    """One part as an exercise of its own."""
    return replace(exercise, parts=(exercise.parts[part],))


def _begun_together(level: Level) -> Level:
    """The level without the wish for a pickup: what is to sound together begins together.

    Each line may sing its top tone as often as it likes.
    """
    level, focus = any_climax(level), level.rhythm_focus
    return replace(level, rhythm_focus=None) if focus and focus.pickup else level


def _without_focus(level: Level) -> Level:
    focus = level.pitch_focus
    return replace(level, pitch_focus=replace(focus, count=0)) if focus else level


def _shape(
    level: Level, metre: Metre | None, measures: int | None, random: Random
) -> tuple[Metre, int, int]:
    """Metre, measures and the ground's seed, drawn as often as lines of the level have them."""
    metres = metres_offered(level, metre)
    lengths = [each for each in lengths_offered(level, measures) if each[0] in _LENGTHS]
    if not lengths:
        raise NoExercise("refusal.partner_length", step=level.steps[0])
    found = random.choices([each for each, _ in metres], [often for _, often in metres])[0]
    length = random.choices([each for each, _ in lengths], [often for _, often in lengths])[0]
    return found, length, random.getrandbits(31)
