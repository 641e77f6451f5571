"""Whether a line keeps the rules of its level: a second opinion on what the composer made.

Written from the rules and not from the composer's tables, which it does not import: it looks at the
finished notes only, all at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import groupby, pairwise
from typing import NamedTuple

from bot.music.breach import Breach, Rule, breach_at
from bot.music.check_rhythm import check_rhythm, new_offsets, phrase_length
from bot.music.exercise import Exercise, Tone
from bot.music.level import Level
from bot.music.sequence import Climax
from bot.music.syllable import word_of
from bot.music.voice import VoiceRange

_WHOLE_STEP, _TRITONE = 2, 6  # semitones
_EIGHTH = Fraction(1, 8)
_THIRD, _FOURTH, _FIFTH, _SIXTH = 2, 3, 4, 5  # scale steps


class _Sung(NamedTuple):
    """A note as it sounds: where, which tone, how high in semitones, how long in whole notes."""

    offset: Fraction
    tone: Tone
    height: int
    length: Fraction


def check(
    exercise: Exercise, level: Level, limits: VoiceRange | None, part: int = 0
) -> tuple[Breach, ...]:
    """Every rule of the level that a line breaks, in the order of places; none if it is right.

    `limits` is the voice's range, None to leave it out. Music that nobody composed may be checked
    too, and breaks many rules that only composed lines keep to.
    """
    found = list(_whole(exercise, level))
    found += check_rhythm(exercise, level, part)
    sung = _sung(exercise, part)
    if not sung:
        found.append(breach_at(exercise, Fraction(0), Rule.END))
        return tuple(found)
    found += _tones(exercise, level, sung, limits, part)
    found += _ends(exercise, level, sung)
    if level.conditions.climax is Climax.ONCE:
        found += _climax(exercise, level, sung, limits, part)
    for phrase in _phrases(exercise, sung):
        found += _equal(exercise, level, phrase)
        distinct = [next(group) for _, group in groupby(phrase, key=lambda note: note.tone)]
        if not level.rules.free_leaps:
            found += _skips_in_a_row(exercise, level, distinct)
        found += _tritones(exercise, distinct)
        found += _quick(exercise, level, phrase)
    found += _focus(exercise, level, sung, part)
    return tuple(sorted(found, key=lambda breach: (breach.measure, breach.beat)))


def _whole(exercise: Exercise, level: Level) -> Iterator[Breach]:
    start = Fraction(0)
    if len(exercise.parts) > 1:
        yield breach_at(exercise, start, Rule.PARTS, str(len(exercise.parts)))
    if exercise.key.mode is not level.mode:
        yield breach_at(exercise, start, Rule.MODE, str(exercise.key))


def _sung(exercise: Exercise, part: int) -> list[_Sung]:
    found: list[_Sung] = []
    held = False
    for offset, note in exercise.parts[part].timed():
        if note.tone is not None and held and note.tone == found[-1].tone:
            found[-1] = found[-1]._replace(length=found[-1].length + note.duration)
        elif note.tone is not None:
            height = exercise.pitch(note.tone, part).midi
            found.append(_Sung(offset, note.tone, height, note.duration))
        held = note.tied
    return found


def _phrases(exercise: Exercise, sung: Sequence[_Sung]) -> list[list[_Sung]]:
    length = phrase_length(exercise)
    return [list(group) for _, group in groupby(sung, key=lambda note: note.offset // length)]


def _tones(
    exercise: Exercise,
    level: Level,
    sung: Sequence[_Sung],
    limits: VoiceRange | None,
    part: int,
) -> Iterator[Breach]:
    for note in sung:
        if note.tone not in level.tones:
            yield breach_at(exercise, note.offset, Rule.TONE, _word(note))
        pitch = exercise.pitch(note.tone, part)
        if limits is not None and not limits.holds(pitch):
            yield breach_at(exercise, note.offset, Rule.RANGE, str(pitch))
    for one, other in pairwise(sung):
        size = abs(other.tone.step - one.tone.step)
        pair = (min(one.tone, other.tone), max(one.tone, other.tone))
        wide = size != 1 or abs(other.height - one.height) > _WHOLE_STEP
        if one.tone != other.tone and wide and pair not in level.skips:
            yield breach_at(exercise, other.offset, Rule.SKIP, f"{_word(one)}-{_word(other)}")
        led = other.tone.step - one.tone.step == one.tone.alter
        if one.tone.alter and one.tone != other.tone and not led:
            yield breach_at(exercise, other.offset, Rule.LEADS, f"{_word(one)}-{_word(other)}")
        if size == _FOURTH and abs(other.height - one.height) == _TRITONE:
            yield breach_at(exercise, other.offset, Rule.TRITONE, f"{_word(one)}-{_word(other)}")


def _ends(exercise: Exercise, level: Level, sung: Sequence[_Sung]) -> Iterator[Breach]:
    conditions = level.conditions
    first, last = sung[0], sung[-1]
    upbeat = conditions.upbeat if exercise.pickup else ()
    if first.tone not in (*conditions.start, *upbeat):
        yield breach_at(exercise, first.offset, Rule.START, _word(first))
    if last.tone != conditions.end:
        yield breach_at(exercise, last.offset, Rule.END, _word(last))
    if len(sung) > 1 and sung[-2].tone not in conditions.cadence:
        yield breach_at(exercise, sung[-2].offset, Rule.CADENCE, _word(sung[-2]))
    for phrase in _phrases(exercise, sung)[:-1]:
        if phrase[-1].tone not in conditions.half_cadence:
            yield breach_at(exercise, phrase[-1].offset, Rule.HALF_CADENCE, _word(phrase[-1]))


def _climax(
    exercise: Exercise,
    level: Level,
    sung: Sequence[_Sung],
    limits: VoiceRange | None,
    part: int,
) -> Iterator[Breach]:
    """A top tone that comes again, be it at once, or that is the first note or the last.

    Or one that is too low for a high point, where the voice gets higher.
    """
    home, peak = level.conditions.end.step, level.conditions.peak
    least = home + peak.steps if peak else home
    if max(_in_reach(exercise, level, limits, part), default=least) < least:
        return
    highest = max(note.height for note in sung)
    tops = [note for note in sung if note.height == highest]
    if len(tops) > 1:
        yield breach_at(exercise, tops[1].offset, Rule.CLIMAX, f"{len(tops)} x {_word(tops[1])}")
    elif tops[0] in (sung[0], sung[-1]):
        yield breach_at(exercise, tops[0].offset, Rule.CLIMAX, _word(tops[0]))
    elif tops[0].tone.step < least:
        yield breach_at(exercise, tops[0].offset, Rule.PEAK, _word(tops[0]))


def _in_reach(
    exercise: Exercise, level: Level, limits: VoiceRange | None, part: int
) -> Iterator[int]:
    """The scale steps of the tones that a voice has, all that the level has without `limits`."""
    for tone in level.tones:
        if limits is None or limits.holds(exercise.pitch(tone, part)):
            yield tone.step


def _equal(exercise: Exercise, level: Level, phrase: Sequence[_Sung]) -> Iterator[Breach]:
    for _, group in groupby(phrase, key=lambda note: note.tone):
        run = list(group)
        if len(run) > level.rules.equal_notes:
            yield breach_at(exercise, run[-1].offset, Rule.EQUAL, f"{len(run)} x {_word(run[0])}")


def _skips_in_a_row(
    exercise: Exercise, level: Level, distinct: Sequence[_Sung]
) -> Iterator[Breach]:
    """Leaps that do not turn back, skips one way that spell no triad, three skips one way."""
    for a, b, c in zip(distinct, distinct[1:], distinct[2:], strict=False):
        was, now = b.tone.step - a.tone.step, c.tone.step - b.tone.step
        if (was > 0) != (now > 0) or abs(was) < _THIRD:
            continue
        spells = _is_triad(a, b, c) and abs(was) + abs(now) <= _SIXTH
        line = f"{_word(a)}-{_word(b)}-{_word(c)}"
        if abs(now) >= _THIRD:
            if not spells:
                yield breach_at(exercise, c.offset, Rule.TWO_SKIPS, line)
        elif abs(was) >= _FOURTH:
            home = (level.degree(a.tone), level.degree(b.tone)) == (_FIFTH, 0)
            if not (was == _FOURTH and home):
                yield breach_at(exercise, c.offset, Rule.TURN_BACK, line)
    for four in zip(distinct, distinct[1:], distinct[2:], distinct[3:], strict=False):
        sizes = [y.tone.step - x.tone.step for x, y in pairwise(four)]
        if min(sizes) >= _THIRD or max(sizes) <= -_THIRD:
            line = "-".join(_word(note) for note in four)
            yield breach_at(exercise, four[-1].offset, Rule.TWO_SKIPS, line)


def _is_triad(*notes: _Sung) -> bool:
    degrees = sorted({note.tone.step % 7 for note in notes})
    return any(sorted((root + third) % 7 for third in (0, 2, 4)) == degrees for root in range(6))


def _quick(exercise: Exercise, level: Level, phrase: Sequence[_Sung]) -> Iterator[Breach]:
    """Moves from a note shorter than an eighth that are wider than the level has them."""
    widest = level.rules.from_sixteenths
    for one, other in pairwise(phrase):
        wide = widest is not None and abs(other.tone.step - one.tone.step) > widest.steps
        if wide and one.length < _EIGHTH:
            yield breach_at(exercise, other.offset, Rule.QUICK, f"{_word(one)}-{_word(other)}")


def _tritones(exercise: Exercise, distinct: Sequence[_Sung]) -> Iterator[Breach]:
    """Turning points an augmented fourth apart, or a diminished fifth not left inwards by step.

    Where a phrase starts and where it ends are turning points too.
    """
    turns = [0]
    for i in range(1, len(distinct) - 1):
        rising = distinct[i].height > distinct[i - 1].height
        if rising != (distinct[i + 1].height > distinct[i].height):
            turns.append(i)
    turns.append(len(distinct) - 1)
    for i, j in pairwise(turns):
        one, other = distinct[i], distinct[j]
        if abs(other.height - one.height) != _TRITONE:
            continue
        after = distinct[j + 1] if j + 1 < len(distinct) else None
        resolved = (
            abs(other.tone.step - one.tone.step) == _FIFTH
            and after is not None
            and abs(after.tone.step - other.tone.step) == 1
        )
        if not resolved:
            line = f"{_word(one)}-{_word(other)}"
            yield breach_at(exercise, other.offset, Rule.TRITONE, line)


def _focus(exercise: Exercise, level: Level, sung: Sequence[_Sung], part: int) -> Iterator[Breach]:
    focus = level.pitch_focus
    if focus is None:
        return
    fresh = new_offsets(exercise, level, part)
    hits = 0
    before: _Sung | None = None
    for note in sung:
        if _is_new(level, before, note):
            hits += 1
            if note.offset in fresh:
                yield breach_at(exercise, note.offset, Rule.BOTH_NEW, _word(note))
        before = note
    needed = focus.needed(exercise.measures)
    if hits < needed:
        yield breach_at(exercise, Fraction(0), Rule.PITCH_FOCUS, f"{hits} < {needed}")


def _is_new(level: Level, before: _Sung | None, note: _Sung) -> bool:
    """Whether a note arrives at the newest tone or by a newest skip."""
    focus = level.pitch_focus
    assert focus is not None
    if before is None:
        return note.tone in focus.tones
    if before.tone == note.tone:
        return False
    pair = (min(before.tone, note.tone), max(before.tone, note.tone))
    return note.tone in focus.tones or pair in focus.skips


def _word(note: _Sung) -> str:
    try:
        return word_of(note.tone)
    except ValueError:
        return f"{note.tone.step:+d}"
