"""The detector: its filter, what the filter makes of a trace, and of noise."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tripmargin.ground.languages import later, say
from tripmargin.machine import Machine

Array = NDArray[np.float64]
_ANSWER = later("what the detector makes of it")


@dataclass(frozen=True, slots=True)
class Filter:
    """Gain and corner frequencies; a corner that is None is not there (models page, Sensing)."""

    gain: float
    low_cut: float | None
    high_cut: float | None

    @classmethod
    def of(cls, machine: Machine) -> Filter:
        """The machine's, every value at its middle.

        Raises
        ------
        NotKnownError
            If the gain is not given.
        """
        (gain,) = machine.need(_ANSWER, "detector.gain")
        low, high = machine.get("detector.low_cut"), machine.get("detector.high_cut")
        return cls(gain.nominal, low and low.nominal, high and high.nominal)

    def response(self, frequency: ArrayLike) -> NDArray[np.complex128]:
        """Output over input at a frequency, Hz.

        One first-order high-pass and one second-order Butterworth low-pass.

        >>> abs(Filter(2.0, None, 160.0).response(160.0)).round(6)  # 3.01 dB down at the corner
        np.float64(1.414214)
        """
        s = 2j * pi * np.asarray(frequency, dtype=float)
        made = np.full(s.shape, self.gain, dtype=complex)
        if self.low_cut is not None:
            made *= s / (s + 2 * pi * self.low_cut)
        if self.high_cut is not None:
            w = 2 * pi * self.high_cut
            made *= w**2 / (s**2 + sqrt(2) * w * s + w**2)
        return made

    @property
    def narrowness(self) -> float:
        """Low corner over high corner, 0 where one of them is not there."""
        if self.low_cut is None or self.high_cut is None:
            return 0.0
        return self.low_cut / self.high_cut

    def noise_crossing_rate(self) -> float:
        """Up-crossings of zero a second of white noise behind the filter (Rice's nu0), 1/s.

        Notes
        -----
        sqrt(m2 / m0) with the output's spectral moments m_k = integral f^k |H|^2 df; Rice, Bell
        Syst. Tech. J. 23 (1944) 282. With x = f / high_cut the second-order low-pass leaves
        1 / (1 + x^4), and the first-order high-pass takes a^2 / (x^2 + a^2) of it away, a = low_cut
        / high_cut; the integrals are elementary.

        Raises
        ------
        ValueError
            Without the low-pass, for then the rate is infinite.

        Examples
        --------
        >>> round(Filter(1.0, None, 160.0).noise_crossing_rate(), 9)
        160.0
        """
        if self.high_cut is None:
            raise ValueError(
                say(
                    "noise without a low-pass (detector.high_cut) crosses any level infinitely"
                    " often; give high_cut to get a rate of false trips."
                )
            )
        a = 0.0 if self.low_cut is None else self.low_cut / self.high_cut
        # Integrals over x from 0 to infinity of x^2/(1+x^4), x^0/(1+x^4): both pi / (2 sqrt 2);
        # of 1/((x^2+a^2)(1+x^4)): see J below, from partial fractions.
        whole = pi / (2 * sqrt(2))
        if a == 0.0:
            return self.high_cut
        # 1/((x^2+a^2)(1+x^4)) = [1/(x^2+a^2) - (x^2 - a^2)/(1+x^4)] / (1 + a^4)
        part = (pi / (2 * a) - whole + a**2 * whole) / (1 + a**4)
        m0 = whole - a**2 * part
        # x^2 * |high-pass|^2 = x^2 - a^2 |high-pass|^2
        m2 = whole - a**2 * m0
        return self.high_cut * sqrt(m2 / m0)


def through_filter(linkage: Array, dt: float, filter_: Filter) -> tuple[Array, Array]:
    """The emf of a flux linkage and the detector's output, on the same even time grid.

    Parameters
    ----------
    linkage : ndarray, (..., n), Wb
        Even in time, nearly zero at both ends and for long enough at the end that the high-pass
        has settled: the spectrum takes the record as periodic.
    dt : float, s
    filter_ : Filter

    Returns
    -------
    emf, output : ndarray, (..., n), V
    """
    n = linkage.shape[-1]
    spectrum = np.fft.rfft(linkage)
    frequency = np.fft.rfftfreq(n, dt)
    rate = -2j * pi * frequency * spectrum
    if n % 2 == 0:
        rate[..., -1] = 0.0  # the highest frequency has no phase of its own
    return np.fft.irfft(rate, n), np.fft.irfft(rate * filter_.response(frequency), n)


def output_only(linkage: Array, dt: float, filter_: Filter) -> Array:
    """As `through_filter`, without the emf."""
    n = linkage.shape[-1]
    frequency = np.fft.rfftfreq(n, dt)
    factor = -2j * pi * frequency * filter_.response(frequency)
    if n % 2 == 0:
        factor[-1] = 0.0
    return np.fft.irfft(np.fft.rfft(linkage) * factor, n)


def settling_time(filter_: Filter) -> float:
    """How long after a pass the filter must be followed until it is at rest to 1e-6, s."""
    return 14 / (2 * pi * filter_.low_cut) if filter_.low_cut is not None else 0.0
