"""For every step, voice and key: whether a line can be composed, or the rule that forbids it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import combinations

from bot.errors import InputProblems, NoExercise
from bot.music.exercise import Tone
from bot.music.level import Level, level_of
from bot.music.parts import PART_RANGES, part_lines
from bot.music.pitch import Key
from bot.music.placement import tones_within
from bot.music.sequence import Sequence, Step, Track
from bot.music.texture import Texture, parts_needed, texture_of
from bot.music.variants import best_octaves, refusal_of
from bot.music.voice import Voice, VoiceRange

KEYS = tuple(Key(fifths=fifths) for fifths in range(-4, 4))  # four flats to three sharps


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """One or more voices in one sounding key, each with its octave of do.

    `pitch` is the pitch step that was asked for; `reads`, where a step has parts, the one that each
    part reads, the highest part first: a lower one where its range asks for that. `refusal` says
    why there is no line, None where a line was composed.
    """

    voices: tuple[Voice, ...]
    pitch: str
    reads: tuple[str, ...] = ()
    key: Key
    do_octaves: tuple[int, ...]
    refusal: NoExercise | None

    def tree(self) -> dict[str, object]:
        """The fit as JSON has it."""
        row: dict[str, object] = {
            "voices": [voice.value for voice in self.voices],
            "pitch": self.pitch,
            "key": self.key.plain,
            "composes": self.refusal is None,
        }
        if self.refusal is None:
            row |= {"reads": list(self.reads)} if self.reads else {}
            return row | {"do_octaves": list(self.do_octaves)}
        return row | {"rule": self.refusal.key, "values": dict(self.refusal.values)}


@dataclass(frozen=True, slots=True, kw_only=True)
class StepRow:
    """One step, with the other tracks at their lowest, in every key for every set of voices.

    A step with parts may be there at every pitch step, see `step_table`.
    """

    step: Step
    fits: tuple[Fit, ...]

    def tree(self) -> dict[str, object]:
        """The row as JSON has it."""
        return {
            "id": self.step.id,
            "track": self.step.track.value,
            "name": self.step.name,
            "fits": [fit.tree() for fit in self.fits],
        }


# What was found at a level of any sequence, by the level and the pitch steps.
Known = dict[tuple[Level, tuple[Step, ...]], tuple[Fit, ...]]


def step_table(
    sequence: Sequence,
    ranges: Mapping[Voice, VoiceRange],
    keys: tuple[Key, ...] = KEYS,
    *,
    every_pitch: bool = False,
    known: Known | None = None,
) -> tuple[StepRow, ...]:
    """The whole table: each voice alone, every two, all together. Each `composes` is a line drawn.

    Steps with parts have one fit for each voice at the top, in the key that is chosen for it, at
    the lowest pitch step that makes music there or at every one. Takes seconds for a sequence of
    some thirty steps, most of them for three parts; with every pitch step a minute or two. `known`
    keeps what was found, for other sequences with the same ranges and keys.
    """
    rows, found = [], {} if known is None else known
    for step in sequence.steps:
        level = level_of(sequence, [step.id])
        alike = replace(level, sequence=""), sequence.track(Track.PITCH)
        if alike not in found:
            if texture_of(level) is Texture.UNISON:
                found[alike] = tuple(_line_fits(level, ranges, keys))
            else:
                levels = every_level(sequence, step) if every_pitch else [level]
                found[alike] = tuple(part_fits(sequence, levels, ranges))
        rows.append(StepRow(step=step, fits=found[alike]))
    return tuple(rows)


def _line_fits(
    level: Level, ranges: Mapping[Voice, VoiceRange], keys: Iterable[Key]
) -> Iterator[Fit]:
    """One line of a level for every set of voices in every key."""
    proved: dict[tuple[Tone, ...], NoExercise | None] = {}
    for voices in _sets(tuple(ranges)):
        for key in keys:
            yield _fit(level, voices, ranges, replace(key, mode=level.mode), proved)


def every_level(sequence: Sequence, step: Step) -> Iterator[Level]:
    """The levels of a step with parts at each pitch step on which it makes music."""
    for pitch in sequence.track(Track.PITCH):
        try:
            yield level_of(sequence, (pitch.id, step.id))
        except InputProblems:
            continue  # below what the step requires


def part_fits(
    sequence: Sequence, levels: Iterable[Level], voices: Iterable[Voice]
) -> Iterator[Fit]:
    """Whether the parts of levels can be sung, with each of the voices at the top."""
    tops = tuple(voices)
    for level in levels:
        yield from (_fit_on_top(sequence, level, voice) for voice in tops)


def _fit_on_top(sequence: Sequence, level: Level, voice: Voice) -> Fit:
    """Whether the parts of a level can be sung with a voice at the top."""
    parts = parts_needed(texture_of(level))
    limits = PART_RANGES.get((voice, parts))
    key, refusal = level.keys.mixed[0], None
    octaves: tuple[int, ...] = ()
    reads: tuple[str, ...] = ()
    try:
        if limits is None:
            raise NoExercise(
                "refusal.voice_parts", step=level.steps[2], parts=parts, voice=voice.value
            )
        found = part_lines(sequence, level, limits, seed=0).plan
        key, octaves = found.key, tuple(line.do_octaves[0] for line in found.lines)
        reads = tuple(line.step for line in found.lines)
    except NoExercise as forbidden:
        refusal = forbidden
    return Fit(
        voices=(voice,),
        pitch=level.steps[0],
        reads=reads,
        key=key,
        do_octaves=octaves,
        refusal=refusal,
    )


def _sets(voices: tuple[Voice, ...]) -> list[tuple[Voice, ...]]:
    return [each for size in range(1, len(voices) + 1) for each in combinations(voices, size)]


def _fit(
    level: Level,
    voices: tuple[Voice, ...],
    ranges: Mapping[Voice, VoiceRange],
    key: Key,
    proved: dict[tuple[Tone, ...], NoExercise | None],
) -> Fit:
    limits = [ranges[voice] for voice in voices]
    placement = best_octaves(level, limits, key)
    try:
        tones = tones_within(level, placement, limits)
        if tones not in proved:
            proved[tones] = refusal_of(level, tones)
        refusal = proved[tones]
    except NoExercise as forbidden:
        refusal = forbidden
    return Fit(
        voices=voices,
        pitch=level.steps[0],
        key=key,
        do_octaves=placement.do_octaves,
        refusal=refusal,
    )
