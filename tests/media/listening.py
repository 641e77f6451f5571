"""Ears that know nothing of how a sound was made: a decoder, a pitch tracker, a loudness meter.

The meter filters with the coefficients printed in Recommendation ITU-R BS.1770-4 (48 kHz), the
tracker is Praat's autocorrelation method.
"""

from __future__ import annotations

import io
import math

import numpy as np
import parselmouth
import soundfile
from scipy.signal import butter, lfilter, resample_poly, sosfilt

RATE_HZ = 44_100
_SHELF = (
    (1.53512485958697, -2.69169618940638, 1.19839281085285),
    (1.0, -1.69065929318241, 0.73248077421585),
)
_HIGH_PASS = ((1.0, -2.0, 1.0), (1.0, -1.99004745483398, 0.99007225036621))


def decoded(mp3: bytes) -> np.ndarray:
    """Samples of an MP3 as float64, mono; anything else is not what was asked for."""
    samples, rate_hz = soundfile.read(io.BytesIO(mp3), dtype="float64")
    assert rate_hz == RATE_HZ
    assert samples.ndim == 1
    return samples


def cents_off(samples: np.ndarray, hertz: float, start_s: float, end_s: float) -> float:
    """The largest distance in cents between what is heard in a span of time and `hertz`."""
    sound = parselmouth.Sound(samples, RATE_HZ).extract_part(start_s, end_s)
    track = sound.to_pitch_ac(
        time_step=0.02, pitch_floor=75, pitch_ceiling=1500, very_accurate=True
    )
    heard = track.selected_array["frequency"]
    assert len(heard) > 0
    assert heard.min() > 0, "Praat hears no pitch at one place"
    return float(np.max(np.abs(1200 * np.log2(heard / hertz))))


def loudness_lufs(samples: np.ndarray) -> float:
    """Integrated loudness, gated at -70 LUFS and at 10 LU under the rest."""
    weighted = lfilter(*_HIGH_PASS, lfilter(*_SHELF, resample_poly(samples, 160, 147)))
    blocks = np.array(
        [
            np.mean(weighted[start : start + 19_200] ** 2)
            for start in range(0, len(weighted) - 19_200 + 1, 4_800)
        ]
    )
    blocks = blocks[_lufs(blocks) > -70]
    return float(_lufs(blocks[_lufs(blocks) > _lufs(blocks.mean()) - 10].mean()))


def peak_dbfs(samples: np.ndarray) -> float:
    """Highest peak between samples too: four times oversampled, as the recommendation asks."""
    return 20 * math.log10(np.max(np.abs(resample_poly(samples, 4, 1))))


def share_above(samples: np.ndarray, hertz: float) -> float:
    """The part of all energy that lies above a frequency."""
    power = np.abs(np.fft.rfft(samples)) ** 2
    return float(power[np.fft.rfftfreq(len(samples), 1 / RATE_HZ) > hertz].sum() / power.sum())


def through_a_phone(samples: np.ndarray) -> np.ndarray:
    """What a small speaker leaves: 24 dB an octave less below 300 Hz."""
    return sosfilt(butter(4, 300, "highpass", fs=RATE_HZ, output="sos"), samples)


def strength_at(samples: np.ndarray, hertz: float) -> float:
    """Level in decibels of the strongest line within a tenth of a semitone of a frequency."""
    window = samples * np.hanning(len(samples))
    spectrum = np.abs(np.fft.rfft(window, 1 << 19)) / len(samples) * 4
    place = np.fft.rfftfreq(1 << 19, 1 / RATE_HZ)
    near = np.abs(12 * np.log2(np.maximum(place, 1) / hertz)) < 0.1
    return 20 * math.log10(spectrum[near].max())


def _lufs(energy: np.ndarray) -> np.ndarray:
    return -0.691 + 10 * np.log10(np.maximum(energy, 1e-20))
