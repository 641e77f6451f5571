"""An exercise as a standard MIDI file, which `midi.py` reads back without loss."""

from __future__ import annotations

import io
from fractions import Fraction

from mido import Message, MetaMessage, MidiFile, MidiTrack, bpm2tempo

from bot.errors import Refused
from bot.music.exercise import Exercise
from bot.music.pitch import Mode
from bot.music.span import spans_of
from bot.notation.midi_words import lyric_of

TICKS_PER_WHOLE = 1920
_VELOCITY = 80
_HIGHEST = 127
_CLOCKS_PER_WHOLE = 96  # MIDI clocks, by which a metronome's click is told


def midi(exercise: Exercise, *, tempo_bpm: float = 72) -> bytes:
    """Write a file of kind 1: key, metre and tempo first, then a track for each part and its words.

    `tempo_bpm` counts the felt beat of the metre. A pickup is a short measure of its own, as
    notation programs write it. Equal input gives equal bytes. Refused with `formats.midi.fine`
    names the first place whose rhythm no whole number of ticks tells.
    """
    file = MidiFile(type=1, ticks_per_beat=TICKS_PER_WHOLE // 4)
    file.tracks.append(_heading(exercise, tempo_bpm))
    for index in range(len(exercise.parts)):
        file.tracks.append(_track(exercise, index))
    written = io.BytesIO()
    file.save(file=written)
    return written.getvalue()


def _heading(exercise: Exercise, tempo_bpm: float) -> MidiTrack:
    key, metre = exercise.key, exercise.metre
    minor = "m" if key.mode is Mode.MINOR else ""
    quarters_per_minute = tempo_bpm * float(metre.pulse * 4)
    clocks = int(metre.pulse * _CLOCKS_PER_WHOLE)
    opening = exercise.pickup or metre.measure
    unit = metre.unit if not exercise.pickup else max(metre.unit, exercise.pickup.denominator)
    track = MidiTrack(
        [
            MetaMessage("key_signature", key=f"{key.tonic.plain}{minor}"),
            MetaMessage("set_tempo", tempo=round(bpm2tempo(quarters_per_minute))),
            MetaMessage(
                "time_signature",
                numerator=int(opening * unit),
                denominator=unit,
                clocks_per_click=clocks,
            ),
        ]
    )
    if exercise.pickup:
        track.append(
            MetaMessage(
                "time_signature",
                numerator=metre.beats,
                denominator=metre.unit,
                clocks_per_click=clocks,
                time=_ticks(exercise, exercise.pickup),
            )
        )
    rest = _ticks(exercise, exercise.length) - _ticks(exercise, exercise.pickup)
    track.append(MetaMessage("end_of_track", time=rest))
    return track


def _track(exercise: Exercise, index: int) -> MidiTrack:
    part = exercise.parts[index]
    events: list[tuple[int, int, Message | MetaMessage]] = []
    for count, span in enumerate(spans_of(part)):
        number = exercise.pitch(span.tone, index).midi
        if not 0 <= number <= _HIGHEST:
            measure, beat = exercise.place(span.onset)
            raise Refused("formats.midi.height", measure=measure, beat=beat)
        onset, end = _ticks(exercise, span.onset), _ticks(exercise, span.end)
        # A note ends before the next begins on the same tick; its syllable comes before it.
        if part.words:
            events.append((onset, 1, MetaMessage("lyrics", text=lyric_of(part.words[count]))))
        events.append((onset, 2, _key("note_on", index, number)))
        events.append((end, 0, _key("note_off", index, number)))
    track, now = MidiTrack(), 0
    for at, _, message in sorted(events, key=lambda event: event[:2]):
        track.append(message.copy(time=at - now))
        now = at
    track.append(MetaMessage("end_of_track", time=_ticks(exercise, exercise.length) - now))
    return track


def _key(kind: str, channel: int, number: int) -> Message:
    return Message(kind, channel=channel, note=number, velocity=_VELOCITY)


def _ticks(exercise: Exercise, time: Fraction) -> int:
    ticks = time * TICKS_PER_WHOLE
    if ticks.denominator != 1:
        measure, beat = exercise.place(time)
        raise Refused("formats.midi.fine", measure=measure, beat=beat)
    return int(ticks)
