"""Composing to words: one note a syllable, stress on strong beats, a phrase to a line.

The words' syllables become constraints of the sampler that draws every other line, so what is drawn
keeps every rule of the step and has its exact probability. What the words leave no room for gives
way in this order, and the setting says so: the newest rhythm as often as usual, the newest tone or
skip as often as usual, stress beside a weaker neighbour. Nothing else gives way: it is refused,
with the word or the rule that is in the way.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from random import Random
from typing import NamedTuple, TypeVar

from bot.errors import NoExercise
from bot.music.against import draw_against, with_companions
from bot.music.breach import Rule
from bot.music.check_rhythm import check_rhythm
from bot.music.companion import RoomPlan
from bot.music.ensemble import Layout, Room
from bot.music.exercise import Exercise, Tone
from bot.music.frames import Frame
from bot.music.habits import RATHER
from bot.music.level import Level
from bot.music.patterns import ticks
from bot.music.pitch import Key
from bot.music.placement import sung_by_all
from bot.music.rhythm import Metre
from bot.music.rhythms import Path
from bot.music.room_lines import RoomReading, one_line, room_plans
from bot.music.sequence import Climax
from bot.music.sequence import Sequence as Steps
from bot.music.shared_ground import SharedGround
from bot.music.span import spans_of
from bot.music.syllable import spoken, word_of
from bot.music.variants import best_octaves, preferred_keys, together
from bot.music.voice import VoiceRange
from bot.music.word_fit import bent_words
from bot.music.word_ground import WordComposer
from bot.music.word_shape import word_shape
from bot.music.word_tables import WordTables
from bot.music.words import Words

_T = TypeVar("_T")
_OTHER_ENDS = (2, 4)  # steps above the tonic
MOST_AGAINST = 2  # lines that a new one may have to sound well with
_PLANS = 16  # plans of one room that are tried
# Refusals that fewer of the newest tones may lift.
_MAY_EASE = (
    "refusal.no-line", "refusal.words_tones", "refusal.words_rhythm", "refusal.words_against",
)  # fmt: skip
_WIDE = 64  # a limit that no line reaches


@dataclass(frozen=True, slots=True, kw_only=True)
class SungWords:
    """A line set to words, for a room: part `i` of `reading.exercise` is `reading.plan.lines[i]`.

    `level` is what the main line keeps to (`check` finds nothing by it). `bent`: words whose stress
    could not stand on the stronger place. `less_new`: the newest tone, skip or cell comes less
    often than in a line without words.
    """

    reading: RoomReading
    level: Level
    words: Words
    bent: tuple[str, ...] = ()
    less_new: bool = False

    @property
    def exercise(self) -> Exercise:
        """The music with its words."""
        return self.reading.exercise


def set_to_words(
    sequence: Steps,
    level: Level,
    ranges: Sequence[VoiceRange],
    words: Words,
    *,
    first: str | None = None,
    key: Key | None = None,
    metre: Metre | None = None,
    measures: int | None = None,
    ground: SharedGround | None = None,
    against: Sequence[Exercise] = (),
    seed: int,
    seen: Collection[Exercise] = (),
    tables: WordTables | None = None,
) -> SungWords:
    """Set words for one to three voices, the highest first, in one sounding key.

    `first` is the syllable of the scale that the main line starts on (`so`; `so,` for the low one
    only). `ground` settles metre, measures and chords, so that lines over it sound together. The
    main line sounds well with those of `against` (two at most): lines of one part, which settle
    key, metre and length. The same arguments give the same line; `tables` are of other lines for
    the same words, and spare time only.

    Raises NoExercise with the word or rule in the way: "refusal.words_first",
    "refusal.words_first_range", "refusal.words_long", "refusal.words_short",
    "refusal.words_rhythm", "refusal.words_tones", "refusal.words_against", and what `compose`
    raises. ValueError where ground and lines of `against` are of different shapes.
    """
    if len(against) > MOST_AGAINST:
        raise ValueError(f"{len(against)} lines: a line is set against {MOST_AGAINST} at most")
    if ground:
        metre, measures = _one(metre, ground.metre), _one(measures, ground.measures)
    for line in against:
        metre, measures = _one(metre, line.metre), _one(measures, line.measures)
        _one(Fraction(0), line.pickup)
        key = _one(key, line.key)
    tables = tables or WordTables()
    wish = _Wish(words, metre, measures, ground, tuple(against), seed, seen, tables)
    refusal: NoExercise | None = None
    for eased in _eased(words_level(level, first), partner=bool(against)):
        for plan in _plans(sequence, eased, ranges, key):
            try:
                exercise = _drawn(eased, plan, wish)
            except NoExercise as forbidden:
                if forbidden.key not in _MAY_EASE:
                    raise
                refusal = forbidden
                continue
            return _sung(exercise, plan, eased, words, level)
    assert refusal is not None, "a level has a plan or refuses"
    raise refusal


class _Wish(NamedTuple):
    """What is asked of a line beyond its level and who sings it."""

    words: Words
    metre: Metre | None
    measures: int | None
    ground: SharedGround | None
    against: tuple[Exercise, ...]
    seed: int
    seen: Collection[Exercise]
    tables: WordTables


def _one(wish: _T | None, settled: _T) -> _T:
    if wish is not None and wish != settled:
        raise ValueError(f"{wish} and {settled}: what sounds together has one key and one shape")
    return settled


def _drawn(level: Level, plan: RoomPlan, wish: _Wish) -> Exercise:
    """Lines of a plan for the words; raises NoExercise where it has none."""
    main = plan.lines[0]
    # Lines that sound together are held to that; the chords come second.
    rather = RATHER if wish.against or len(plan.lines) > 1 else 0
    chords = wish.ground.degrees(rather) if wish.ground else None
    composer = WordComposer(main.level, main.tones, wish.words, chords, wish.tables)
    random = Random(wish.seed)  # noqa: S311 -- the same seed has to give the same line
    metre, measures, composer.pickup = word_shape(
        composer,
        wish.words,
        wish.metre,
        wish.measures,
        random,
        pickups=not (wish.ground or wish.against),  # what is to sound together begins together
    )
    if not wish.against:
        room = Room(plan, lay=one_rhythm, composer=composer)
        found = room.draw(random, metre=metre, measures=measures, seen=wish.seen)
    else:
        found = draw_against(composer, plan, wish.against, metre, measures, random, wish.seen)
        if found is not None and len(plan.lines) > 1:
            found = with_companions(plan, found, random)
    if found is None:
        key = "refusal.words_against" if wish.against else "refusal.words_tones"
        raise NoExercise(key, step=", ".join(level.steps))
    return found


def _sung(exercise: Exercise, plan: RoomPlan, kept: Level, words: Words, level: Level) -> SungWords:
    """The lines with their words, and what had to give way for them."""
    focus = kept.rhythm_focus
    too_few = (Rule.RHYTHM_FOCUS, Rule.APART)
    if focus and any(b.rule in too_few for b in check_rhythm(exercise, kept, 0)):
        kept = replace(kept, rhythm_focus=None)
    less = (kept.pitch_focus, kept.rhythm_focus) != (level.pitch_focus, level.rhythm_focus)
    return SungWords(
        reading=RoomReading(exercise=with_words(exercise, words), plan=plan),
        level=kept,
        words=words,
        bent=_bent(exercise, words),
        less_new=less,
    )


def one_rhythm(plan: RoomPlan, frame: Frame, path: Path) -> Iterator[Layout]:
    """The same rhythm for every line, since all have the same words."""
    yield Layout((frame.line(path),) * len(plan.lines), {})


def words_level(level: Level, first: str | None = None) -> Level:
    """The level for words: it may start on `first`, and one cell may fill any measure.

    Words decide how often the top tone is sung.
    Raises NoExercise("refusal.words_first") for a syllable that the step does not have.
    """
    rules = replace(level.rules, same_cell=_WIDE, free_cells=True)
    conditions = replace(level.conditions, climax=Climax.ANY)
    if first is not None:
        start = tuple(tone for tone in level.tones if _is(tone, first))
        if not start:
            known = dict.fromkeys(word_of(tone).strip("',") for tone in level.tones)
            raise NoExercise(
                "refusal.words_first", first=first, step=level.steps[0], known=", ".join(known)
            )
        conditions = replace(conditions, start=start, upbeat=())
    return replace(level, rules=rules, conditions=conditions)


def with_words(exercise: Exercise, words: Words) -> Exercise:
    """The exercise with the same words under every part; ValueError where notes do not match."""
    under = tuple(syllable.under for syllable in words.syllables)
    return replace(exercise, parts=tuple(replace(part, words=under) for part in exercise.parts))


def _is(tone: Tone, syllable: str) -> bool:
    word = word_of(tone)
    return syllable in (word, word.strip("',"))


def _eased(level: Level, *, partner: bool) -> Iterator[Level]:
    """The level, then with fewer of the newest tone or skip, down to none.

    Lines that come to do together need two ways to get there, re and ti. Where the step has but
    one, a partner ends on the third, as second parts do, or on the fifth.
    """
    ends = [level.conditions.end]
    ways = {level.degree(tone) for tone in set(level.conditions.cadence) & set(level.tones)}
    if partner and len(ways) < 2:
        home = level.conditions.end.step
        ends = [tone for tone in level.tones if tone.step - home in _OTHER_ENDS and not tone.alter]
    focus = level.pitch_focus
    most = focus.count if focus else 0
    for count in dict.fromkeys((most, 0)) if partner else range(most, -1, -1):
        for end in ends:
            eased = level if end == level.conditions.end else _ending(level, end)
            yield replace(eased, pitch_focus=replace(focus, count=count)) if focus else eased


def _ending(level: Level, end: Tone) -> Level:
    near = tuple(tone for tone in level.tones if abs(tone.step - end.step) == 1)
    return replace(level, conditions=replace(level.conditions, end=end, cadence=near))


def _plans(
    sequence: Steps,
    level: Level,
    ranges: Sequence[VoiceRange],
    key: Key | None,
) -> list[RoomPlan]:
    """Who sings what: one line for all where that can be, else the main line and companions."""
    start = set(level.conditions.start)
    try:
        return [one_line(level, ranges, together(level, ranges, key))]
    except NoExercise:
        plans = room_plans(sequence, level, ranges, key)[:_PLANS]
        sung = [plan for plan in plans if start & set(plan.lines[0].tones)]
        if sung:
            return sung
        reach = {
            tone
            for each in ([key] if key else preferred_keys(level, ranges))
            for tone in sung_by_all(level, best_octaves(level, ranges, each), ranges)
        }
        if start & reach:
            raise
    spans = ", ".join(f"{each.low}-{each.high}" for each in ranges)
    tones = " or ".join(spoken(tone) for tone in sorted(start))
    raise NoExercise("refusal.words_first_range", first=tones, ranges=spans)


def _bent(exercise: Exercise, words: Words) -> tuple[str, ...]:
    struck = [
        (exercise.metre.strength(span.onset - exercise.pickup), ticks(span.end - span.onset))
        for span in spans_of(exercise.parts[0])
    ]
    return bent_words(words, [strength for strength, _ in struck], [size for _, size in struck])
