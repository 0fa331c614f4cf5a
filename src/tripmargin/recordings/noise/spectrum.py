"""The floor's spectrum: how many independent samples there are, and how often it crosses zero."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
_USABLE = 0.8  # of half the rate: above that, what was sampled folds back
_ABOVE = 10.0  # times the recorder's own noise, from which the spectrum counts
_FLAT = 1.5  # power by which the end of a band falls where the detector's noise is still seen
_STEEP = 3.0  # power of the frequency by which it must fall: a one-pole filter's falls by 2


@dataclass(frozen=True)
class Spectrum:
    """Power density of the floor, one-sided.

    Attributes
    ----------
    frequencies, density
        Hz, V2/Hz.
    seconds
        Of samples that counted.
    """

    frequencies: Floats
    density: Floats
    seconds: float

    def with_(self, other: Spectrum) -> Spectrum:
        """Both together; each counts by its seconds, and both have the same frequencies."""
        seconds = self.seconds + other.seconds
        density = (self.density * self.seconds + other.density * other.seconds) / seconds
        return Spectrum(self.frequencies, density, seconds)

    @property
    def step(self) -> float:
        """Hz from line to line."""
        return float(self.frequencies[1] - self.frequencies[0])

    @property
    def independent(self) -> float:
        """Independent samples, as the variance knows them: 2 T (int S)^2 / int S^2.

        The variance of a Gaussian process's variance is 2 s^4 / n with that n (Bendat and Piersol,
        Random Data, ch. 8, from memory): flat noise of bandwidth B has 2 B T.
        """
        whole, squares = self.density.sum() * self.step, (self.density**2).sum() * self.step
        return float(2 * self.seconds * whole**2 / squares) if squares > 0 else 0.0

    def upper_end(self) -> tuple[float, float]:
        """Up to where the noise is the detector's, Hz, and the recorder's own beneath it, V2/Hz.

        Where the spectrum still falls at the end of the band, the recorder's own is not seen: 0.
        """
        end = _USABLE * float(self.frequencies[-1])
        if self.fall(end) > _FLAT:
            return end, 0.0
        usable = self.density[self.frequencies <= end]
        width = max(len(usable) // 64, 1)
        smooth = np.convolve(usable, np.ones(width) / width, "same")
        own = float(np.median(usable[-max(len(usable) // 10, 1) :]))
        high = np.flatnonzero(smooth > _ABOVE * own)
        return (float(self.frequencies[high[-1]]) if len(high) else 0.0), own

    def fall(self, end: float, own: float = 0.0) -> float:
        """By which power of the frequency the density falls over the octave below `end`."""
        density = self.density - own
        band = (self.frequencies >= end / 2) & (self.frequencies <= end) & (density > 0)
        if np.count_nonzero(band) < 8:
            return 0.0
        slope, _ = np.polyfit(np.log(self.frequencies[band]), np.log(density[band]), 1)
        return float(-slope)

    def crossing_rate(self) -> float | None:
        """Up-crossings of zero a second, Rice's sqrt(m2 / m0); None where it has no limit.

        Beyond the band recorded the density is taken to go on falling by the next even power, two
        for each pole; where it falls by less than the third power there (a one-pole filter), the
        second moment grows with the band without limit. Rice, Bell Syst. Tech. J. 23 (1944) 282,
        sec. 3.3.
        """
        end, own = self.upper_end()
        fall = self.fall(end, own)
        if fall < _STEEP:
            return None
        inside = self.frequencies <= end
        frequencies, density = self.frequencies[inside], self.density[inside] - own
        zeroth, second = density.sum(), (frequencies**2 * density).sum()
        last = float(np.median(density[frequencies > 0.9 * end])) * (end / (0.95 * end)) ** -fall
        power = max(2 * round(fall / 2), 4)
        second += last * end**3 / (power - 3) / self.step
        return float(sqrt(second / zeroth)) if zeroth > 0 else None


def spectrum_of(
    values: Floats, good: Bools, rate: float, resolution: float, length: int
) -> Spectrum:
    """Welch's average over the stretches that count (IEEE Trans. AU-15 (1967) 70).

    Parameters
    ----------
    values, good
        (n,) V, and whether each sample counts.
    rate
        Hz.
    resolution
        Hz wanted between lines, where the record is long enough for it.
    length
        Samples of the record, or of the shortest of its parts: all parts get the same frequencies.
    """
    size = int(2 ** np.ceil(np.log2(rate / resolution)))
    size = max(min(size, 2 ** int(np.log2(max(length / 8, 16)))), 16)
    window = np.hanning(size)
    scale = 2 / (rate * (window**2).sum())
    lost = np.concatenate([[0], np.cumsum(~good)])
    total, count = np.zeros(size // 2 + 1), 0
    for begin in range(0, len(values) - size + 1, size // 2):
        if lost[begin + size] == lost[begin]:
            part = values[begin : begin + size]
            total += np.abs(np.fft.rfft((part - part.mean()) * window)) ** 2
            count += 1
    frequencies = np.fft.rfftfreq(size, 1 / rate)
    density: Floats = total * scale / max(count, 1)
    return Spectrum(
        np.asarray(frequencies, np.float64), density, float(np.count_nonzero(good)) / rate
    )
