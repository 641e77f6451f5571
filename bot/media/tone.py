"""The key, the starting note, the line and a drone as sound, from values alone.

Equal temperament. One clean, warm tone for every voice: exact harmonics under one fixed colour,
so that low notes carry their pitch in harmonics that a phone's speaker can give (it gives little
below 250 Hz) and high notes stay round. No vibrato, no detuning: the pitch is the pitch.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

import numpy as np
import numpy.typing as npt
import soundfile

from bot.media.loudness import integrated_lufs
from bot.music.exercise import Exercise
from bot.music.pitch import Key, Pitch
from bot.music.tonality import KeyPattern, key_giving

Samples = npt.NDArray[np.float32]

RATE_HZ = 44_100
LOUDNESS_LUFS = -19.0  # the most that the widest chord allows under the peak limit
PEAK = 10 ** (-3.5 / 20)  # half a decibel of room under -3 dBFS for what MP3 adds
A4_LIMITS_HZ = (430.0, 450.0)
SHORTEST_PITCH_S = 3.0
DRONE_EDGE_S = 0.5
_ROUND_S = 8.0

# The key is given at the reading's tempo, so that the pulse is felt too, but below 60 it drags and
# above 132 the notes are too short to take a pitch from.
_TEMPO_LIMITS_BPM = (60, 132)

_HARMONICS = 10
_BODY_HZ = 320.0  # below this the colour falls by 12 dB an octave: phone speakers do not give it
_BRIGHT_HZ = 1_800.0  # above this it falls too: warmth
_HIGHEST_HZ = 8_000.0
_ATTACK_S, _FADE_S, _RELEASE_S = 0.04, 0.09, 0.3
# In a line the pulse has to be heard: half of the rise is over after 6 ms, which nobody hears late.
_STROKE_S = 0.012
_LINE_TEMPI_BPM = (30, 200)
_DECAY_S = 4.0  # time to fall by 8.7 dB: the tone lives, and still sounds at its end


def key_sound(
    exercise_key: Key, do: Pitch, pattern: KeyPattern, *, a4_hz: float = 440.0, tempo_bpm: int = 66
) -> Samples:
    """Sound the tonality pattern from `do`, the do of the line's octave.

    Mono at 44.1 kHz in -1..1, at most -3 dBFS. One pulse lasts a beat of `tempo_bpm`, held between
    60 and 132. ValueError where `do` is not the key's do or A4 lies outside 430-450 Hz.
    """
    if do.name != exercise_key.do:
        raise ValueError(f"do is {do}, but the do of {exercise_key} is {exercise_key.do}")
    slowest, fastest = _TEMPO_LIMITS_BPM
    pulse_s = 60 / min(max(tempo_bpm, slowest), fastest)
    sounded = key_giving(pattern, exercise_key.mode)
    line = np.zeros(round(sum(tones.pulses for tones in sounded) * pulse_s * RATE_HZ))
    start_s = 0.0
    for tones in sounded:
        held_s = tones.pulses * pulse_s
        last = tones is sounded[-1]
        for tone in tones.tones:
            hertz = _hertz(exercise_key.pitch(tone.step, tone.alter, do.octave), a4_hz)
            # All but the last fade out under the beginning of the next: a line, not a row of pips.
            note = (
                _note(hertz, held_s, _RELEASE_S)
                if last
                else _note(hertz, held_s + _FADE_S, _FADE_S)
            )
            _lay_in(line, note, start_s)
        start_s += held_s
    return _levelled(line)


def pitch_sound(pitch: Pitch, *, a4_hz: float = 440.0, seconds: float = 3.5) -> Samples:
    """Sound one note for `seconds`, three at least; else as `key_sound`."""
    if seconds < SHORTEST_PITCH_S:
        raise ValueError(f"{seconds} s is too short to take a pitch from: three seconds at least")
    return _levelled(_note(_hertz(pitch, a4_hz), seconds, _RELEASE_S))


def line_sound(exercise: Exercise, *, a4_hz: float = 440.0, tempo_bpm: int = 66) -> Samples:
    """Sound every part of an exercise as it is read; else as `key_sound`.

    The first note begins with the first sample; one pulse lasts 60 s / `tempo_bpm`, 30 to 200.
    ValueError for another tempo, or where no part has a note.
    """
    slowest, fastest = _LINE_TEMPI_BPM
    if not slowest <= tempo_bpm <= fastest:
        raise ValueError(f"{tempo_bpm} beats a minute: from {slowest} to {fastest}")
    whole_s = 60 / tempo_bpm / float(exercise.metre.pulse)
    wave = np.zeros(round(float(exercise.length) * whole_s * RATE_HZ))
    for part in range(len(exercise.parts)):
        for start, length, pitch, flows in _sung(exercise, part):
            held_s = float(length) * whole_s + (_FADE_S if flows else 0.0)
            fade_s = min(_FADE_S, held_s / 3)
            tone = _note(_hertz(pitch, a4_hz), held_s, fade_s, _STROKE_S)
            _lay_in(wave, tone, float(start) * whole_s)
    if not wave.any():
        raise ValueError("no part has a note")
    return _levelled(wave)


def drone_sound(do: Pitch, *, a4_hz: float = 440.0) -> Samples:
    """Sound do without a beginning or an end, to be played round and round.

    A whole number of periods lies between `DRONE_EDGE_S` from either end: a player loops from
    there to there without a seam. What lies outside only feeds the decoder.
    """
    hertz = _hertz(do, a4_hz)
    periods = round(_ROUND_S * hertz)
    samples = round(periods / hertz * RATE_HZ)
    whole = samples + 2 * round(DRONE_EDGE_S * RATE_HZ)
    time_s = np.arange(whole) / RATE_HZ
    # Moved by less than a hundredth of a cent, so that the round holds whole periods exactly.
    return _levelled(_wave(periods / samples * RATE_HZ, time_s))


def mp3(samples: Samples) -> bytes:
    """Encode as MP3; equal samples give equal bytes."""
    file = io.BytesIO()
    soundfile.write(
        file,
        samples,
        RATE_HZ,
        format="MP3",
        subtype="MPEG_LAYER_III",
        bitrate_mode="CONSTANT",
        compression_level=0.9,
    )
    return file.getvalue()


def light_mp3(samples: Samples) -> bytes:
    """Encode as MP3 at half the rate with as many bits as each moment needs.

    Nothing that we make sounds above 8 kHz, so that every second sample tells it all.
    """
    file = io.BytesIO()
    soundfile.write(
        file,
        samples[::2],
        RATE_HZ // 2,
        format="MP3",
        subtype="MPEG_LAYER_III",
        bitrate_mode="VARIABLE",
        compression_level=0.98,
    )
    return file.getvalue()


def _hertz(pitch: Pitch, a4_hz: float) -> float:
    low, high = A4_LIMITS_HZ
    if not low <= a4_hz <= high:
        raise ValueError(f"A4 is {a4_hz} Hz: it lies between {low:g} and {high:g}")
    return pitch.frequency_hz(a4_hz)


def _sung(exercise: Exercise, part: int) -> Iterator[tuple[Fraction, Fraction, Pitch, bool]]:
    """(start, length, pitch, whether it flows into the next) of each note, ties joined.

    A note does not flow into a rest, nor into its own pitch: there it makes room to be struck anew.
    """
    notes: list[list[Any]] = []
    held = False
    for start, note in exercise.parts[part].timed():
        if held:
            notes[-1][1] += note.duration
        else:
            pitch = None if note.tone is None else exercise.pitch(note.tone, part)
            notes.append([start, note.duration, pitch])
        held = note.tied
    after: list[Pitch | None] = [*(pitch for _, _, pitch in notes[1:]), None]
    for (start, length, pitch), follows in zip(notes, after, strict=True):
        if pitch is not None:
            yield start, length, pitch, follows is not None and follows != pitch


def _note(
    hertz: float, seconds: float, release_s: float, attack_s: float = _ATTACK_S
) -> npt.NDArray[np.float64]:
    """One tone with its attack and release, not yet levelled."""
    time_s = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    return np.asarray(_wave(hertz, time_s) * _envelope(time_s, attack_s, release_s))


def _wave(hertz: float, time_s: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """The bare tone at these moments."""
    order = np.arange(1, _HARMONICS + 1)
    # Schroeder's phases spread the harmonics over the period, so that peaks stay low.
    turns = _colour(order * hertz, order) * np.exp(-1j * np.pi * order * (order - 1) / _HARMONICS)
    circle = np.exp(2j * np.pi * hertz * time_s)
    wave = np.zeros_like(circle)
    for turn in turns[::-1]:  # the sum of turn * circle**n, from the highest power down
        wave = (wave + turn) * circle
    return np.asarray(wave.imag)


def _lay_in(line: npt.NDArray[np.float64], note: npt.NDArray[np.float64], start_s: float) -> None:
    """Add a note to the line from a moment on; what would stick out at the end is cut."""
    room = line[round(start_s * RATE_HZ) :][: len(note)]
    room += note[: len(room)]


def _colour(
    hertz: npt.NDArray[np.floating[Any]], order: npt.NDArray[np.int64]
) -> npt.NDArray[np.floating[Any]]:
    """Strengths of harmonics at these frequencies: 1/n, bent down below the body and on top."""
    low = (hertz / _BODY_HZ) ** 2
    body = low / np.sqrt(1 + low**2)
    round_top = 1 / np.sqrt(1 + (hertz / _BRIGHT_HZ) ** 4)
    return np.where(hertz < _HIGHEST_HZ, body * round_top / order, 0.0)


def _envelope(
    time_s: npt.NDArray[np.float64], attack_s: float, release_s: float
) -> npt.NDArray[np.float64]:
    """Rise and fall along raised cosines, so that neither end clicks; a slow decay between."""
    end_s = time_s[-1]
    rise = np.clip(time_s / attack_s, 0, 1)
    fall = np.clip((end_s - time_s) / release_s, 0, 1)
    shape = (1 - np.cos(np.pi * rise)) * (1 - np.cos(np.pi * fall)) / 4
    return np.asarray(shape * np.exp(-time_s / _DECAY_S))


def _levelled(wave: npt.NDArray[np.float64]) -> Samples:
    """Bring to the one loudness of all sounds, never over the peak limit."""
    gain = 10 ** ((LOUDNESS_LUFS - integrated_lufs(wave, RATE_HZ)) / 20)
    gain = min(gain, PEAK / float(np.max(np.abs(wave))))
    return (wave * gain).astype(np.float32)
