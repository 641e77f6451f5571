"""Drawing several parts at once: a rhythm first, then all tones together.

As with one line, a rhythm that no setting fits is judged once and its weight taken out, and what a
choir has read is left out exactly; so a draw ends, and with the exact law of what is left.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from fractions import Fraction
from random import Random
from typing import NamedTuple, Protocol

from bot.errors import NoExercise
from bot.music.breadth import goes_somewhere
from bot.music.critic import best
from bot.music.drawing import Unread
from bot.music.exercise import Exercise, Part, Tone
from bot.music.frame_shares import FrameShares, FramesLeft
from bot.music.frames import Frame
from bot.music.lines import Lines
from bot.music.patterns import Pattern, pickup_of
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.rhythms import Path, Taken
from bot.music.written import notes_of, rhythm_of, sounding

CANDIDATES = 10  # settings of one rhythm among which the critic chooses by the top line
# Rhythms without any setting after which there is none to be expected, by the number of lines.
_HOPELESS = {2: 8, 3: 3}


class Together(Lines, Protocol):
    """Every way to sing several parts over their rhythms."""

    def slice_by_slice(self, rows: Sequence[Sequence[int]]) -> list[int]:
        """The tones of a way as its choices have them, from those of each part's notes."""
        ...

    def parts(self, tones: Sequence[int]) -> tuple[tuple[int, ...], ...]:
        """The tones of each part's notes, from those of a way."""
        ...


class Setting(NamedTuple):
    """Rhythms for all parts, and every way to sing them."""

    metre: Metre
    measures: tuple[tuple[Pattern, ...], ...]
    lines: Together


class Score(NamedTuple):
    """How settings become exercises: the key, each part's tones, its octave of do."""

    key: Key
    tones: tuple[tuple[Tone, ...], ...]
    do_octaves: tuple[int, ...]

    def exercise(self, setting: Setting, drawn: Sequence[int]) -> Exercise:
        """One setting as music."""
        return self.of_rows(setting, setting.lines.parts(drawn))

    def of_rows(self, setting: Setting, rows: Sequence[Sequence[int]]) -> Exercise:
        """Lines over the rhythms of a setting as music, from the tones of each part's notes."""
        parts = []
        for side, sung in enumerate(rows):
            tones = [self.tones[side][tone] for tone in sung]
            notes = notes_of(setting.measures[side], tones)
            parts.append(Part(notes=notes, do_octave=self.do_octaves[side]))
        pickup = pickup_of(setting.measures[0])
        return Exercise(key=self.key, metre=setting.metre, parts=tuple(parts), pickup=pickup)


def draw_together(
    frames: Sequence[Frame],
    settings: Callable[[Frame, Path], Setting],
    score: Score,
    random: Random,
    seen: Collection[Exercise] = (),
    *,
    patience: int | None = None,
) -> Exercise | None:
    """Parts that a choir has not read; None where no setting is to be expected.

    That is so after `patience` rhythms that nothing fits, by default a few. Raises
    NoExercise("refusal.all-read") where every setting was read.
    """
    frames_left = FramesLeft(FrameShares(frames))
    taken: dict[Frame, Taken] = {}
    read = {_shape(each) for each in seen if len(each.parts) == len(score.tones)}
    known: set[str] = {each.fingerprint() for each in seen}
    judged: set[tuple[Frame, Path]] = set()
    met = 0
    hopeless = patience or _HOPELESS[len(score.tones)]
    while (met or len(judged) < hopeless) and (frame := frames_left.pick(random)):
        so_far, total = taken.setdefault(frame, Taken()), frame.rhythms.total
        if total <= so_far.of(()):
            frames_left.keep(frame, 0, total)
            continue
        path = frame.rhythms.draw(random, so_far)
        setting = settings(frame, path)
        unread = _unread(setting, score, seen if _rhythms(setting) in read else ())
        again = (frame, path) in judged  # its weight is right by now
        if unread.share > 0.0 and (again or random.random() < unread.share):
            drawn = [unread.draw(random) for _ in range(CANDIDATES)]
            found = [score.exercise(setting, each) for each in drawn]
            fresh = [each for each in found if each.fingerprint() not in known]
            lively = _liveliest(fresh, score, len(setting.measures[0]))
            return lively[best([_top(each) for each in lively])]
        judged.add((frame, path))
        met += unread.read
        weight = frame.rhythms.weight(path)
        keep = max(int(weight * Fraction(unread.share)), 1) if unread.share else 0
        so_far.take(frame.rhythms, path, weight - keep)
        frames_left.keep(frame, total - so_far.of(()), total)
    if met:
        raise NoExercise("refusal.all-read", count=met)
    return None


def _liveliest(exercises: Sequence[Exercise], score: Score, measures: int) -> Sequence[Exercise]:
    """Those with the fewest parts that go nowhere, so that no voice has all the dull lines."""
    dull = [
        sum(
            not goes_somewhere(part.tones(), measures, offered)
            for part, offered in zip(each.parts, score.tones, strict=True)
        )
        for each in exercises
    ]
    return [each for each, parts in zip(exercises, dull, strict=True) if parts == min(dull)]


def _top(exercise: Exercise) -> Exercise:
    return replace(exercise, parts=exercise.parts[:1])


def _unread(setting: Setting, score: Score, seen: Collection[Exercise]) -> Unread:
    read = []
    for each in seen:
        if len(each.parts) == len(score.tones) and _shape(each) == _rhythms(setting):
            tones = _tones(setting, score, each)
            labels = None if tones is None else setting.lines.labels(tones)
            if labels is not None:
                read.append(labels)
    return Unread(setting.lines, read)


def _tones(setting: Setting, score: Score, exercise: Exercise) -> list[int] | None:
    """The tones of an exercise slice by slice, as the setting's lines have them."""
    rows = []
    for part, tones in zip(exercise.parts, score.tones, strict=True):
        sung = part.tones()
        if any(tone not in tones for tone in sung):
            return None
        rows.append([tones.index(tone) for tone in sung])
    return setting.lines.slice_by_slice(rows)


def _shape(exercise: Exercise) -> object:
    return exercise.metre, exercise.pickup, tuple(sounding(part) for part in exercise.parts)


def _rhythms(setting: Setting) -> object:
    rhythms = tuple(rhythm_of(measures) for measures in setting.measures)
    return setting.metre, pickup_of(setting.measures[0]), rhythms
