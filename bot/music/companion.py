"""Lines for voices that the main line does not fit: which tones, at which step, ending where.

In the room's key a voice may have re to high do, or low so to so. Its companion line keeps to the
step's tones, skips and rhythm, but may begin and end on any tone of the tonic chord, as a second
part does, and come to its end by any move of the step. Where the voice does not have what the step
is about, a lower step's line serves; where it has hardly any tones, one that stays on do and so.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise, product

from bot.errors import InputProblems
from bot.music.checker import check
from bot.music.exercise import Exercise, Tone
from bot.music.leading import by_step, height
from bot.music.level import Level, any_climax, level_of
from bot.music.pitch import Key
from bot.music.placement import Placement
from bot.music.reachable import connected, follows
from bot.music.sequence import Sequence as Steps
from bot.music.sequence import Track
from bot.music.voice import VoiceRange

_OCTAVES = range(1, 7)
_TONIC, _SECOND, _THIRD, _FIFTH, _LEADING = 0, 1, 2, 4, 6  # degrees from the tonic
_TRIAD, _DOMINANT = (_TONIC, _THIRD, _FIFTH), (_SECOND, _FIFTH, _LEADING)
_WIDE = 64  # a limit that no line reaches
_FEWEST = 3  # tones that make a line of a step


class Footing(StrEnum):
    """How a line stands to the choir's step."""

    MAIN = "main"
    SAME_STEP = "same step"
    LOWER_STEP = "lower step"
    TWO_TONES = "two tones"


@dataclass(frozen=True, slots=True, kw_only=True)
class LinePlan:
    """One line for some voices (their places among the ranges), each with its octave of do.

    `level` is what the checker holds the line to; `step` the pitch step that it reads.
    """

    footing: Footing
    voices: tuple[int, ...]
    do_octaves: tuple[int, ...]
    level: Level
    tones: tuple[Tone, ...]
    step: str

    @property
    def drone(self) -> bool:
        """Whether the line stays on one tone."""
        return len(self.tones) == 1


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomPlan:
    """Who sings what in a key: the main line first, every voice in one of the lines.

    `shared`: the lines have the newest element as often as needed between them; else each has it.
    """

    key: Key
    lines: tuple[LinePlan, ...]
    cost: float
    shared: bool = False


def same_line(level: Level, tones: tuple[Tone, ...], placement: Placement) -> RoomPlan:
    """The plan of one line that the highest voice sings first and all others after it."""
    octaves = placement.do_octaves
    return RoomPlan(
        key=placement.key,
        lines=tuple(
            LinePlan(
                footing=Footing.MAIN,
                voices=voices,
                do_octaves=tuple(octaves[voice] for voice in voices),
                level=level,
                tones=tones,
                step=level.steps[0],
            )
            for voices in ((0,), tuple(range(1, len(octaves))))
        ),
        cost=0.0,
    )


def companions(
    level: Level,
    lower_levels: Sequence[Level],
    voices: tuple[int, ...],
    ranges: Sequence[VoiceRange],
    key: Key,
) -> Iterator[LinePlan]:
    """Companion lines that some voices could share in a key, from the step's own downwards.

    `lower_levels` are those of `levels_down`.
    """
    reach = _Reach([ranges[voice] for voice in voices], key)
    for lower in lower_levels:
        same = lower.steps[0] == level.steps[0]
        footing = Footing.SAME_STEP if same else Footing.LOWER_STEP
        for octaves, tones, end in _placed(lower, reach):
            yield LinePlan(
                footing=footing,
                voices=voices,
                do_octaves=octaves,
                level=companion_level(lower, tones, end, level),
                tones=tones,
                step=lower.steps[0],
            )
    yield from _two_tones(level, voices, reach)


def footing_of(line: Exercise, sequence: Steps, level: Level) -> tuple[Footing, str]:
    """How a companion line stands to a choir's level, and the highest pitch step that it reads."""
    sung = line.parts[0].tones()
    tones = tuple(sorted(set(sung)))
    for lower in levels_down(sequence, level):
        same = lower.steps[0] == level.steps[0]
        if not check(line, companion_level(lower, lower.tones, sung[-1], level), None):
            return (Footing.SAME_STEP if same else Footing.LOWER_STEP), lower.steps[0]
    two = len(tones) <= 2 and {level.degree(tone) for tone in tones} <= {_TONIC, _FIFTH}
    return (Footing.TWO_TONES if two else Footing.LOWER_STEP), level.steps[0]


def levels_down(sequence: Steps, level: Level) -> Iterator[Level]:
    """The level itself, then those of lower pitch steps in its mode, with its newest rhythm.

    They go down as far as the rhythm step allows. Lines that sound together may sing their top tone
    more than once.
    """
    pitch = [step.id for step in sequence.track(Track.PITCH)]
    for step in reversed(pitch[: pitch.index(level.steps[0]) + 1]):
        try:
            lower = level_of(sequence, (step, *level.steps[1:]))
        except InputProblems:
            return  # the rhythm asks for a higher pitch step
        if step == level.steps[0]:
            yield any_climax(level)
        elif lower.mode is level.mode:
            yield replace(any_climax(lower), rhythm_focus=level.rhythm_focus)


def companion_level(lower: Level, tones: Sequence[Tone], end: Tone, main: Level) -> Level:
    """A level whose lines may begin on the tonic chord and end on `end`."""
    conditions = replace(
        lower.conditions,
        start=tuple(t for t in tones if lower.degree(t) in _TRIAD),
        half_cadence=tuple(t for t in tones if lower.degree(t) in _DOMINANT and not t.alter),
        cadence=_cadence(lower, tones, end),
        end=end,
        measures=main.conditions.measures,
    )
    return replace(lower, tones=tuple(tones), conditions=conditions, forms=main.forms)


def _cadence(level: Level, tones: Sequence[Tone], end: Tone) -> tuple[Tone, ...]:
    """The tones before the last: any that lead to do, steps to another tone where there are any."""
    near = tuple(tone for tone in tones if by_step(tone, end))
    if near and level.degree(end) != _TONIC:
        return near
    return tuple(tone for tone in tones if follows(level, tone, end))


def _placed(
    level: Level, reach: _Reach
) -> Iterator[tuple[tuple[int, ...], tuple[Tone, ...], Tone]]:
    """Octaves, tones and last tone of lines of a level, the fullest first, do before mi and so."""
    found = []
    for octaves in reach.octaves:
        sung = reach.sung(level.tones, octaves)
        for end in sung:
            if level.degree(end) not in _TRIAD or end.alter:
                continue
            tones = connected(level, sung, end)
            if not _serves(level, tones) or not _lands(level, tones, end):
                continue
            if len(tones) >= _FEWEST and sum(level.degree(t) in _TRIAD for t in tones) > 1:
                rank = _TRIAD.index(level.degree(end))
                found.append((rank - len(tones), rank, end.step, octaves, tones, end))
    for *_, octaves, tones, end in sorted(found, key=lambda each: each[:4]):
        yield octaves, tones, end


def _serves(level: Level, tones: Sequence[Tone]) -> bool:
    """Whether what the step is about can be sung with these tones."""
    focus = level.pitch_focus
    if focus is None:
        return True
    skips = [skip for skip in focus.skips if set(skip) <= set(tones)]
    return bool(focus.tones & set(tones)) if focus.tones else bool(skips)


def _lands(level: Level, tones: Sequence[Tone], end: Tone) -> bool:
    """Whether two lines can come to the tonic from different tones, or this one ends elsewhere."""
    if level.degree(end) != _TONIC:
        return True
    from_there = {level.degree(tone) for tone in tones if follows(level, tone, end)}
    return bool(from_there - {_SECOND, _THIRD}) or _LEADING in map(level.degree, level.tones)


def _two_tones(level: Level, voices: tuple[int, ...], reach: _Reach) -> Iterator[LinePlan]:
    """Lines that stay on the tonic, on its fifth, or on both, where the voices have them."""
    rows = [Tone(step=level.mode.tonic_step + step) for step in (-3, 0, 4, 7)]
    for octaves in reach.octaves:
        sung = reach.sung(rows, octaves)
        pairs = [(a, b) for a, b in pairwise(sung) if b.step - a.step < 5]
        for tones in [*pairs, *((tone,) for tone in sung)]:
            ends = [tone for tone in tones if level.degree(tone) == _TONIC] or list(tones)
            yield LinePlan(
                footing=Footing.TWO_TONES,
                voices=voices,
                do_octaves=octaves,
                level=two_tone_level(level, tones, ends[0]),
                tones=tones,
                step=level.steps[0],
            )


def two_tone_level(level: Level, tones: tuple[Tone, ...], end: Tone) -> Level:
    """What a line on do and so keeps to: its tones, its end, and the step's metres and cells."""
    conditions = replace(level.conditions, start=tones, half_cadence=tones, cadence=tones, end=end)
    return replace(
        level,
        home=(),
        tones=tones,
        skips=frozenset(pairwise(tones)),
        conditions=conditions,
        rules=replace(level.rules, equal_notes=_WIDE, same_cell=_WIDE, free_cells=True),
        pitch_focus=None,
        rhythm_focus=None,
    )


class _Reach:
    """What some voices have in common in a key, for each choice of octaves of do."""

    def __init__(self, limits: Sequence[VoiceRange], key: Key) -> None:
        heights = {octave: key.pitch(0, 0, octave).midi for octave in _OCTAVES}
        spans = [
            {o: (each.low.midi - do, each.high.midi - do) for o, do in heights.items()}
            for each in limits
        ]
        near = [[o for o, (low, high) in span.items() if low < 14 and high > -7] for span in spans]
        self.octaves = tuple(product(*near))
        self._spans = spans

    def sung(self, tones: Sequence[Tone], octaves: Sequence[int]) -> list[Tone]:
        """The tones that all of them have."""
        spans = [span[octave] for span, octave in zip(self._spans, octaves, strict=True)]
        low, high = max(each[0] for each in spans), min(each[1] for each in spans)
        return [tone for tone in tones if low <= height(tone) <= high]
