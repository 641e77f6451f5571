"""Partner lines as a reading of their choir: one line for all, or two or three at once. Pure."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from bot.activities.choir import Choir, ChoirVoice
from bot.activities.reading import DAILY, Reading, ReadingPart
from bot.errors import Refused
from bot.music.exercise import Exercise
from bot.music.partner_pool import Stack, highest_first
from bot.music.step import level_of
from bot.service.content import Content
from bot.service.partner_words import chosen_name
from bot.service.placing import as_read, placed
from bot.store.partner_sets import KeptPartners
from bot.wording import Wording

_Sung = tuple[int, int, int]  # a voice of the choir, the line that it sings, its octave of do


def partner_reading(
    kept: KeptPartners, chosen: Sequence[int], choir: Choir, content: Content, on: date, draw: int
) -> Reading:
    """One line (from 0) of a set for all voices, or several of them as they sound together.

    Held to its day. Refused("partners.unknown") for lines that do not sound together,
    Refused("partners.voices") where the choir's voices have become others since.
    """
    steps, say = kept.steps, content.wording
    exercise, sung = _music(kept, chosen)
    voices = _voices([voice for voice, _, _ in sung], choir, say)
    level = level_of(content.sequences[steps.sequence], (steps.pitch, steps.rhythm))
    where = [(line, octave) for _, line, octave in sung]
    parts = placed(exercise, where, replace(choir, voices=voices), level.keys, say)
    reading = Reading(
        id=secrets.token_hex(10),
        choir_id=choir.id,
        on=on,
        slot=DAILY,
        draw=draw,
        exercise=exercise,
        parts=parts,
        steps=steps,
        seed=0,
        title=chosen_name(chosen, say),
        pinned=True,
    )
    _held_to_ranges(reading, parts, voices)
    return reading


def _music(kept: KeptPartners, chosen: Sequence[int]) -> tuple[Exercise, list[_Sung]]:
    """What is sung, and who sings which of its lines, from the highest voice down."""
    found = kept.found
    if len(chosen) == 1 and 0 <= chosen[0] < len(found.lines):
        octaves = enumerate(found.do_octaves)
        return found.lines[chosen[0]], [(voice, 0, octave) for voice, octave in octaves]
    try:
        stack: Stack = found.stack(chosen)
    except KeyError as error:
        raise Refused("partners.unknown") from error
    sung = [
        (voice, part, octave)
        for part in highest_first(stack.exercise)
        for voice, octave in zip(stack.singers[part], stack.do_octaves[part], strict=True)
    ]
    return stack.exercise, sorted(sung, key=lambda each: each[0])


def _voices(sung: Sequence[int], choir: Choir, say: Wording) -> tuple[ChoirVoice, ...]:
    """The voice of each singer; one that divides has a number behind its label."""
    if max(sung) + 1 != len(choir.voices):
        raise Refused("partners.voices")
    if len(choir.voices) == 1:
        return choir.voices  # its parts have their numerals
    found = []
    for number, voice in enumerate(sung):
        whole = choir.voices[voice]
        group = sung[:number].count(voice) + 1
        label = say("partners.divided", label=whole.label, number=group)
        found.append(whole if sung.count(voice) == 1 else replace(whole, label=label))
    return tuple(found)


def _held_to_ranges(
    reading: Reading, parts: Sequence[ReadingPart], voices: Sequence[ChoirVoice]
) -> None:
    for index in range(len(parts)):
        limits = voices[min(index, len(voices) - 1)].range
        if not all(limits.holds(pitch) for pitch in as_read(reading, index).pitches()):
            raise Refused("partners.voices")
