"""The key and the starting note as sound, from values alone.

Equal temperament. One clean, warm tone for every voice: exact harmonics under one fixed colour,
so that low notes carry their pitch in harmonics that a phone's speaker can give (it gives little
below 250 Hz) and high notes stay round. No vibrato, no detuning: the pitch is the pitch.
"""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import numpy.typing as npt
import soundfile

from bot.media.loudness import integrated_lufs
from bot.music.pitch import Key, Pitch
from bot.music.tonality import KeyPattern, key_giving

Samples = npt.NDArray[np.float32]

RATE_HZ = 44_100
LOUDNESS_LUFS = -19.0  # the most that the widest chord allows under the peak limit
PEAK = 10 ** (-3.5 / 20)  # half a decibel of room under -3 dBFS for what MP3 adds
A4_LIMITS_HZ = (430.0, 450.0)
SHORTEST_PITCH_S = 3.0

# The key is given at the reading's tempo, so that the pulse is felt too, but below 60 it drags and
# above 132 the notes are too short to take a pitch from.
_TEMPO_LIMITS_BPM = (60, 132)

_HARMONICS = 10
_BODY_HZ = 320.0  # below this the colour falls by 12 dB an octave: phone speakers do not give it
_BRIGHT_HZ = 1_800.0  # above this it falls too: warmth
_HIGHEST_HZ = 8_000.0
_ATTACK_S, _FADE_S, _RELEASE_S = 0.04, 0.09, 0.3
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
        compression_level=0.7,
    )
    return file.getvalue()


def _hertz(pitch: Pitch, a4_hz: float) -> float:
    low, high = A4_LIMITS_HZ
    if not low <= a4_hz <= high:
        raise ValueError(f"A4 is {a4_hz} Hz: it lies between {low:g} and {high:g}")
    return pitch.frequency_hz(a4_hz)


def _note(hertz: float, seconds: float, release_s: float) -> npt.NDArray[np.float64]:
    """One tone with its attack and release, not yet levelled."""
    time_s = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    order = np.arange(1, _HARMONICS + 1)
    # Schroeder's phases spread the harmonics over the period, so that peaks stay low.
    turns = _colour(order * hertz, order) * np.exp(-1j * np.pi * order * (order - 1) / _HARMONICS)
    circle = np.exp(2j * np.pi * hertz * time_s)
    wave = np.zeros_like(circle)
    for turn in turns[::-1]:  # the sum of turn * circle**n, from the highest power down
        wave = (wave + turn) * circle
    return np.asarray(wave.imag * _envelope(time_s, release_s))


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


def _envelope(time_s: npt.NDArray[np.float64], release_s: float) -> npt.NDArray[np.float64]:
    """Rise and fall along raised cosines, so that neither end clicks; a slow decay between."""
    end_s = time_s[-1]
    rise = np.clip(time_s / _ATTACK_S, 0, 1)
    fall = np.clip((end_s - time_s) / release_s, 0, 1)
    shape = (1 - np.cos(np.pi * rise)) * (1 - np.cos(np.pi * fall)) / 4
    return np.asarray(shape * np.exp(-time_s / _DECAY_S))


def _levelled(wave: npt.NDArray[np.float64]) -> Samples:
    """Bring to the one loudness of all sounds, never over the peak limit."""
    gain = 10 ** ((LOUDNESS_LUFS - integrated_lufs(wave, RATE_HZ)) / 20)
    gain = min(gain, PEAK / float(np.max(np.abs(wave))))
    return (wave * gain).astype(np.float32)
