"""Sound in short overlapping frames: its power over time and frequency."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.intp]
HOP = 1e-3
"""s from one frame to the next."""
WINDOW = 5e-3
"""s that a frame looks at, weighted by Hann's window."""
LOWEST, HIGHEST = 150.0, 16_000.0
"""Hz; below, engines fill everything; above, phones and their codecs keep little."""


@dataclass(frozen=True)
class Frames:
    """Power over time and frequency.

    Attributes
    ----------
    times
        (t,) middles of the frames, s.
    power
        (t, k) mean over channels of the squared spectrum in each line.
    frequencies
        (k,) Hz.
    hop
        s from one frame to the next.
    """

    times: Floats
    power: Floats
    frequencies: Floats
    hop: float = HOP

    def between(self, start: float, stop: float) -> slice:
        """The frames whose middles lie between two times, s."""
        first, last = np.searchsorted(self.times, (start, stop))
        return slice(int(first), int(last))


def frames_of(
    samples: Floats, rate: float, start: float, *, window: float = WINDOW, hop: float = HOP
) -> Frames:
    """Frames of a stretch of sound.

    Parameters
    ----------
    samples
        (n, channels).
    rate
        Hz.
    start
        Time of the first sample, s.
    window, hop
        s.
    """
    size = max(8, round(window * rate))
    count = int(max(len(samples) - size, 0) / (hop * rate)) + 1
    firsts = (np.arange(count) * (hop * rate)).astype(int)
    weight = np.hanning(size + 2)[1:-1]
    weight = (weight / np.sqrt(np.sum(weight**2))).astype(np.float32)
    frequencies = np.fft.rfftfreq(size, 1 / rate)
    used = (frequencies >= LOWEST) & (frequencies <= min(HIGHEST, 0.45 * rate))
    total = np.zeros((len(firsts), int(used.sum())))
    for channel in np.ascontiguousarray(samples.T, dtype=np.float32):
        pieces = np.lib.stride_tricks.sliding_window_view(channel, size)[firsts]
        spectrum = np.fft.rfft(pieces * weight)[:, used]
        total += spectrum.real**2 + spectrum.imag**2
    total = np.asarray(total / samples.shape[1] + 1e-20, dtype=np.float64)
    times = start + (firsts + (size - 1) / 2) / rate
    return Frames(times, total, np.asarray(frequencies[used], dtype=np.float64), hop)


def steady_mean(power: Floats, most: float = 4.0) -> Floats:
    """Mean over frames with what sticks out cut off: a knock does not raise the level.

    Parameters
    ----------
    power
        (t, ...).
    most
        Values are cut at so many times the mean.
    """
    mean = np.median(power, axis=0) * 1.3
    for _ in range(3):
        mean = np.minimum(power, most * mean).mean(axis=0)
    return np.asarray(np.maximum(mean, 1e-30))


def smoothed(values: Floats, shape: Floats) -> Floats:
    """Columns smoothed by a shape that sums to one; as long as they were, edges held."""
    before, after = (len(shape) - 1) // 2, len(shape) // 2
    pad = [(before, after)] + [(0, 0)] * (values.ndim - 1)
    held = np.pad(values, pad, mode="edge")
    size = 1 << (len(held) - 1).bit_length()
    kernel = np.fft.rfft(shape, size).reshape(-1, *[1] * (values.ndim - 1))
    whole = np.fft.irfft(np.fft.rfft(held, size, axis=0) * kernel, size, axis=0)
    return np.asarray(whole[len(shape) - 1 : len(shape) - 1 + len(values)])
