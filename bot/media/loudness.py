"""Loudness as listeners hear it, after Recommendation ITU-R BS.1770-4, for one channel.

The two weighting filters are the recommendation's own (its coefficients are printed for 48 kHz),
computed here for any rate from the analogue corner frequencies, gains and Q behind them.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

Signal = npt.NDArray[np.floating[Any]]
Response = npt.NDArray[np.complex128]

_BLOCK_S, _HOP_S = 0.4, 0.1  # gating blocks of 400 ms that overlap by 75 %
_SILENCE_LUFS, _RELATIVE_LU = -70.0, -10.0
_OFFSET_DB = -0.691

# Corner frequency in hertz, Q, and (for the shelf) gain in decibels: the values that give the
# recommendation's tables 1 and 2 at 48 kHz to all their digits.
_SHELF_HZ, _SHELF_Q, _SHELF_DB = 1681.974450955533, 0.7071752369554196, 3.999843853973347
_HIGH_PASS_HZ, _HIGH_PASS_Q = 38.13547087602444, 0.5003270373238773
_SHELF_SHAPE = 0.4996667741545416


def integrated_lufs(samples: Signal, rate_hz: int) -> float:
    """Gated loudness of a mono signal in LUFS; minus infinity for silence.

    A signal shorter than one block of 400 ms is measured as one block.
    """
    weighted = _weighted(samples.astype(np.float64), rate_hz)
    block, hop = round(_BLOCK_S * rate_hz), round(_HOP_S * rate_hz)
    starts = range(0, max(1, len(weighted) - block + 1), hop)
    energies = np.array([np.mean(weighted[start : start + block] ** 2) for start in starts])
    loud = energies[_lufs(energies) > _SILENCE_LUFS]
    if not len(loud):
        return float("-inf")
    gate = _lufs(np.mean(loud)) + _RELATIVE_LU
    return float(_lufs(np.mean(loud[_lufs(loud) > gate])))


def _lufs(energy: Signal | np.floating[Any]) -> Signal:
    return _OFFSET_DB + 10 * np.log10(np.maximum(energy, 1e-20))


def _weighted(samples: npt.NDArray[np.float64], rate_hz: int) -> npt.NDArray[np.float64]:
    """Filter by multiplying spectra; a second of silence behind keeps the end from wrapping."""
    size = 1 << (len(samples) + rate_hz).bit_length()
    spectrum = np.fft.rfft(samples, size) * _weights(np.fft.rfftfreq(size), rate_hz)
    return np.fft.irfft(spectrum, size)[: len(samples)]


def _weights(cycles: Signal, rate_hz: int) -> Response:
    """Response of both filters in series at frequencies given in cycles per sample."""
    delay = np.exp(-2j * np.pi * cycles)
    head = 10 ** (_SHELF_DB / 20)
    k = np.tan(np.pi * _SHELF_HZ / rate_hz)
    bent = head**_SHELF_SHAPE * k / _SHELF_Q
    shelf = _section(
        (head + bent + k * k, 2 * (k * k - head), head - bent + k * k),
        (1 + k / _SHELF_Q + k * k, 2 * (k * k - 1), 1 - k / _SHELF_Q + k * k),
        delay,
    )
    k = np.tan(np.pi * _HIGH_PASS_HZ / rate_hz)
    # The recommendation leaves the numerator of its second filter at 1, -2, 1.
    norm = 1 + k / _HIGH_PASS_Q + k * k
    high_pass = _section(
        (norm, -2 * norm, norm),
        (norm, 2 * (k * k - 1), 1 - k / _HIGH_PASS_Q + k * k),
        delay,
    )
    return shelf * high_pass


def _section(
    numerator: tuple[float, float, float],
    denominator: tuple[float, float, float],
    delay: Response,
) -> Response:
    b0, b1, b2 = numerator
    a0, a1, a2 = denominator
    top, bottom = b0 + b1 * delay + b2 * delay**2, a0 + a1 * delay + a2 * delay**2
    return np.asarray(top / bottom, dtype=np.complex128)
