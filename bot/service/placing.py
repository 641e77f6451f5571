"""Which octave and key each voice of a choir reads a line in. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

from bot.activities.choir import Choir, ChoirVoice
from bot.activities.reading import Reading, ReadingPart
from bot.errors import Fault, InputProblems
from bot.music.exercise import Exercise, Part
from bot.music.level import Level
from bot.music.parts import PART_RANGES
from bot.music.pitch import Key, Pitch
from bot.music.room_lines import RoomReading
from bot.music.sequence import KeyOrder
from bot.music.texture import parts_needed, texture_of
from bot.music.variants import apart
from bot.music.voice import Voice, VoiceRange
from bot.service.part_clefs import divided
from bot.wording import Wording

_NUMERALS = ("I", "II", "III")
_OCTAVES = (0, -1, 1, -2, 2, -3, 3)  # away from the written octave, the nearest first


def line_alone(exercise: Exercise, line: int) -> Exercise:
    """One line of an exercise as an exercise of its own."""
    return replace(exercise, parts=(exercise.parts[line],))


def as_read(reading: Reading, index: int) -> Exercise:
    """The line of one part as the room reads it together: its octave, the reading's key."""
    part = reading.parts[index]
    return line_alone(reading.exercise, part.line).in_key(reading.exercise.key, (part.do_octave,))


def as_read_apart(reading: Reading, index: int) -> Exercise:
    """The line of one part as its voice reads it alone."""
    part = reading.parts[index]
    return line_alone(reading.exercise, part.line).in_key(part.apart_key, (part.apart_do_octave,))


def as_score(reading: Reading) -> Exercise:
    """All parts under one another, each in its octave."""
    lines = reading.exercise.parts
    parts = tuple(replace(lines[part.line], do_octave=part.do_octave) for part in reading.parts)
    return replace(reading.exercise, parts=parts)


def ranges_of(choir: Choir, level: Level) -> tuple[VoiceRange, ...]:
    """The ranges for which a choir's lines are composed, the highest first.

    A choir of one voice that sings in parts divides as its kind of voice does.
    """
    if len(choir.voices) == 1:
        voice, parts = choir.voices[0], parts_needed(texture_of(level))
        divided = PART_RANGES.get((voice.voice, parts))
        return divided if divided and parts > 1 else (voice.range,)
    return tuple(voice.range for voice in choir.voices)


def placed_in_room(
    room: RoomReading, choir: Choir, keys: KeyOrder, say: Wording
) -> tuple[ReadingPart, ...]:
    """The parts of composed lines: together as the room's plan says, apart in the order of keys.

    A choir of one voice that divides has parts I, II, III of that voice.
    """
    singing = range(sum(len(line.voices) for line in room.plan.lines))
    where = [(room.line_of(number), room.do_octave_of(number)) for number in singing]
    return placed(room.exercise, where, choir, keys, say)


def placed(
    exercise: Exercise,
    where: Sequence[tuple[int, int]],
    choir: Choir,
    keys: KeyOrder,
    say: Wording,
) -> tuple[ReadingPart, ...]:
    """The parts of lines that sound together; `where` has line and octave of do of each singer.

    Singers are the choir's voices, or the parts of its one voice where they are more.
    """
    voices = choir.voices
    if len(where) > len(voices):
        sung = [_pitches(exercise, line, octave) for line, octave in where]
        voices = tuple(
            replace(part, label=say("choir.part", numeral=numeral))
            for numeral, part in zip(_NUMERALS, divided(voices[0], sung), strict=False)
        )
    return tuple(
        _part(
            exercise, line, voice, octave, keys.treble if voice.voice is Voice.TREBLE else keys.low
        )
        for (line, octave), voice in zip(where, voices, strict=True)
    )


def place_own(exercise: Exercise, choir: Choir, file: str, say: Wording) -> tuple[ReadingPart, ...]:
    """The parts of music that the director brought, in the key in which it is written.

    One line is sung by all voices, several lines by one voice each, the highest first; octaves may
    move. InputProblems lists every note that lies outside its voice.
    """
    lines, voices = len(exercise.parts), len(choir.voices)
    if lines not in (1, voices):
        problem = say("own_music.lines", lines=lines, voices=voices)
        raise InputProblems([Fault(place=file, problem=problem, remedy=say("own_music.one_line"))])
    faults: list[Fault] = []
    parts: list[ReadingPart] = []
    for index, voice in enumerate(choir.voices):
        line = 0 if lines == 1 else index
        octave = _best_octave(exercise, line, voice)
        alone = line_alone(exercise, line).in_key(exercise.key, (octave,))
        found = _outside(alone, voice, file, say)
        faults += found
        if not found:
            parts.append(_part(exercise, line, voice, octave))
    if faults:
        raise InputProblems(faults)
    return tuple(parts)


def trading_parts(reading: Reading, choir: Choir) -> tuple[str, str] | None:
    """The labels of two voices that can take each other's line, note for note as it sounds.

    The first such pair from the highest voice down; None where ranges allow none.
    """
    parts, ranges = reading.parts, _ranges_of_parts(reading, choir)
    sung = [as_read(reading, index).pitches() for index in range(len(parts))]
    for one, other in combinations(range(len(ranges)), 2):
        if parts[one].line == parts[other].line:
            continue
        if all(map(ranges[one].holds, sung[other])) and all(map(ranges[other].holds, sung[one])):
            return parts[one].label, parts[other].label
    return None


def _ranges_of_parts(reading: Reading, choir: Choir) -> tuple[VoiceRange, ...]:
    """What each part's voice reaches, those of one voice that divides as it divides.

    Empty where the choir has lost a voice since.
    """
    known = {voice.voice: voice.range for voice in choir.voices}
    kinds = [part.voice for part in reading.parts]
    if not set(kinds) <= set(known):
        return ()
    if len(set(kinds)) < len(kinds):
        return PART_RANGES.get((kinds[0], len(kinds)), (known[kinds[0]],) * len(kinds))
    return tuple(known[kind] for kind in kinds)


def relabelled(reading: Reading, choir: Choir) -> tuple[ReadingPart, ...]:
    """The same parts under the choir's present labels and clefs; a divided voice keeps I and II."""
    present = {voice.voice: voice for voice in choir.voices}
    kinds = [part.voice for part in reading.parts]
    sung = [as_read(reading, index).pitches() for index in range(len(kinds))]
    clefs = {
        kind: iter(
            part.clef
            for part in divided(
                present[kind], [line for own, line in zip(kinds, sung, strict=True) if own is kind]
            )
        )
        for kind in kinds
    }
    return tuple(
        replace(
            part,
            label=present[part.voice].label if kinds.count(part.voice) == 1 else part.label,
            clef=next(clefs[part.voice]),
        )
        for part in reading.parts
    )


def _part(
    exercise: Exercise, line: int, voice: ChoirVoice, octave: int, keys: tuple[Key, ...] = ()
) -> ReadingPart:
    wanted = tuple(replace(key, mode=exercise.key.mode) for key in keys)
    alone = apart(line_alone(exercise, line), voice.range, wanted)
    return ReadingPart(
        voice=voice.voice,
        label=voice.label,
        clef=voice.clef,
        line=line,
        do_octave=octave,
        apart_key=alone.key,
        apart_do_octave=alone.parts[0].do_octave,
    )


def _pitches(exercise: Exercise, line: int, octave: int) -> tuple[Pitch, ...]:
    """One line of an exercise in an octave of do."""
    return line_alone(exercise, line).in_key(exercise.key, (octave,)).pitches()


def _best_octave(exercise: Exercise, line: int, voice: ChoirVoice) -> int:
    """The do octave in which the fewest notes lie outside the voice, nearest to the written one."""

    def outside(octave: int) -> int:
        moved = _pitches(exercise, line, octave)
        return sum(not voice.range.holds(pitch) for pitch in moved)

    written = exercise.parts[line].do_octave
    return min((written + away for away in _OCTAVES), key=outside)


def _outside(alone: Exercise, voice: ChoirVoice, file: str, say: Wording) -> list[Fault]:
    part: Part = alone.parts[0]
    faults = []
    for offset, note in part.timed():
        if note.tone is None or voice.range.holds(pitch := alone.pitch(note.tone)):
            continue
        measure, beat = alone.place(offset)
        faults.append(
            Fault(
                place=say("own_music.place", file=file, measure=measure, beat=beat),
                problem=say(
                    "own_music.outside",
                    pitch=pitch,
                    label=voice.label,
                    low=voice.range.low,
                    high=voice.range.high,
                ),
            )
        )
    return faults
