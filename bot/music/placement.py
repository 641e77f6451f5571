"""Where a line lies for each voice: one key, each voice's own octave of do."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from bot.errors import NoExercise
from bot.music.exercise import Tone
from bot.music.level import Level
from bot.music.pitch import Key, Mode
from bot.music.reachable import connected, leads_to
from bot.music.syllable import spoken
from bot.music.voice import VoiceRange


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """One sounding key; `do_octaves` has the octave of do for each voice in order."""

    key: Key
    do_octaves: tuple[int, ...]


def tones_within(
    level: Level, placement: Placement, ranges: Sequence[VoiceRange]
) -> tuple[Tone, ...]:
    """The level's tones that every voice can sing where the placement puts them.

    Raises NoExercise("refusal.range") naming a voice by its limits and the first tone without which
    there is no line: one of the first step's, or one that the newest step needs;
    "refusal.leads_on" where the newest tone is sung and that to which it leads is not. A key in
    the other mode raises what `wrong_mode` says.
    """
    if refusal := wrong_mode(level, placement.key):
        raise refusal
    sung = sung_by_all(level, placement, ranges)
    missing = missing_tones(level, sung)
    if missing:
        limits = next(
            each
            for each, octave in zip(ranges, placement.do_octaves, strict=True)
            if not _reaches(each, placement.key, octave, missing[0])
        )
        raise _out_of_reach(level, sung, missing[0], placement.key, limits)
    return sung


def _out_of_reach(
    level: Level, sung: Collection[Tone], tone: Tone, key: Key, limits: VoiceRange
) -> NoExercise:
    """The refusal for a tone that a voice does not have."""
    focus = level.pitch_focus
    stuck = [each for each in (focus.tones if focus else ()) if each in sung]
    if tone not in level.home and any(tone in leads_to(level, each) for each in stuck):
        new = next(each for each in stuck if tone in leads_to(level, each))
        return NoExercise(
            "refusal.leads_on",
            tone=spoken(new),
            to=spoken(tone),
            in_key=str(key),
            low=str(limits.low),
            high=str(limits.high),
        )
    return NoExercise(
        "refusal.range",
        tone=spoken(tone),
        in_key=str(key),
        low=str(limits.low),
        high=str(limits.high),
    )


def wrong_mode(level: Level, key: Key | None) -> NoExercise | None:
    """The refusal of a key in minor where the step is in major, or the reverse; None if it fits."""
    if key is None or key.mode is level.mode:
        return None
    rule = "refusal.major" if level.mode is Mode.MAJOR else "refusal.minor"
    return NoExercise(rule, in_key=str(key), step=level.steps[0])


def in_mode_of(level: Level, key: Key | None) -> Key | None:
    """The key that a choir has asked for by its do: F is D minor where the level is in minor."""
    return replace(key, mode=Mode.MINOR) if key and level.mode is Mode.MINOR else key


def missing_tones(level: Level, sung: Collection[Tone]) -> tuple[Tone, ...]:
    """The tones without which there is no line and which are not sung: to be at home, the newest.

    Of several new skips one is enough, so what counts is the one that misses least.
    """
    needed = [*level.home, level.conditions.end]
    focus = level.pitch_focus
    if focus:
        if focus.tones and focus.tones.isdisjoint(connected(level, sung, level.conditions.end)):
            needed += _for_newest(level, focus.tones, sung)
        needed += min(sorted(focus.skips), key=lambda skip: len(set(skip) - set(sung)), default=())
    return tuple(dict.fromkeys(tone for tone in needed if tone not in sung))


def _for_newest(level: Level, newest: Collection[Tone], sung: Collection[Tone]) -> list[Tone]:
    """The nearest new tone; where one is sung and leads nowhere, the nearest to which it leads."""
    stuck = sorted((tone for tone in newest if tone in sung), key=lambda tone: abs(tone.step))
    for tone in stuck:
        ways = [each for each in leads_to(level, tone) if each not in sung]
        if ways:
            return [min(ways, key=lambda each: abs(each.step - tone.step))]
    return [] if stuck else [min(newest, key=lambda tone: abs(tone.step))]


def sung_by_all(
    level: Level, placement: Placement, ranges: Sequence[VoiceRange]
) -> tuple[Tone, ...]:
    """The level's tones that every voice can sing, enough for a line or not."""
    voices = tuple(zip(ranges, placement.do_octaves, strict=True))
    return tuple(
        tone
        for tone in level.tones
        if all(_reaches(limits, placement.key, octave, tone) for limits, octave in voices)
    )


def _reaches(limits: VoiceRange, key: Key, do_octave: int, tone: Tone) -> bool:
    return limits.holds(key.pitch(tone.step, tone.alter, do_octave))
