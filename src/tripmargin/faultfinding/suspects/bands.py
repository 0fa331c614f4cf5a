"""What a meter's reading counts as: ranges with room between them, made from what could be read."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import pairwise
from math import isinf, log10

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import say

MOST = 4
"""Ranges of one meter's reading; more would only mirror the battery's charge."""
VOLTS_APART = 0.8
"""V. Readings of a battery's height closer than this count as the same: batteries differ by that
much. Engineering judgement, no source."""
BATTERY = 12.0
"""V. Lower readings follow the battery in proportion, so that they may lie closer together."""
LEAST_APART = 0.3
"""V. No readings closer than this count as different, however low. Engineering judgement, no
source."""
VOLTS_OFF = 4.0
"""V. A reading so far from all that could be read here is refused. Engineering judgement, no
source."""
OHMS_APART = 0.17
"""Decades. Readings within a factor of 1.5 count as the same."""
LEADS_OHM = 0.6
"""Ohm. Below this an ohmmeter's own leads hide a difference. Engineering judgement, no source."""
_OR_OVERLOAD = " or overload"
OVERLOAD = 20e6
"""Ohm. Above this a meter shows overload. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Bands:
    """Ranges of a reading: `limits` between them, rising; `words` for each, lowest first.

    The words are English whatever is spoken: findings are kept by them, and `said` says them.

    A reading below `least` or above `most` cannot be.
    """

    limits: tuple[float, ...]
    words: tuple[str, ...]
    unit: str
    least: float = float("-inf")
    most: float = float("inf")

    def possible(self, reading: float) -> bool:
        """Whether anything here could read so: probes swapped or a wrong range could not.

        >>> volt_bands([0.0, 12.2, 12.4]).possible(-12.0)
        False
        """
        return self.least <= reading <= self.most

    def said(self, word: str) -> str:
        """A range in the reader's words; the word itself where it is none of these.

        >>> bands = ohm_bands([18.0, 19.0, float("inf")])
        >>> bands.said(bands.words[-1])
        'more than 19 kohm or overload'
        """
        if word not in self.words:
            return word
        if not self.limits:
            return say("any")
        number = self.words.index(word)
        shown = [volts(each) if self.unit == "V" else ohms(each) for each in self.limits]
        if number == 0:
            return say("less than {limit}", limit=shown[0])
        if number < len(shown):
            return say("{low} to {high}", low=shown[number - 1], high=shown[number])
        if word.endswith(_OR_OVERLOAD):
            return say("more than {limit} or overload", limit=shown[-1])
        return say("more than {limit}", limit=shown[-1])

    def word(self, reading: float) -> str:
        """The range that a reading falls in.

        >>> volt_bands([0.0, 12.2, 12.4]).word(11.0)
        'more than 6.1 V'
        """
        return self.words[bisect_right(self.limits, reading)]


def volt_bands(readings: Iterable[float]) -> Bands:
    """Ranges of volts, from everything that could be read.

    >>> volt_bands([0.0, 12.2, 12.4]).words
    ('less than 6.1 V', 'more than 6.1 V')
    """
    values = np.unique(np.asarray(list(readings), float))
    limits = [round(float(mid), 1) for mid in _gaps(values, _volts_apart(values))]
    words = _words(limits, lambda v: f"{v:.1f} V")
    least, most = float(values[0]) - VOLTS_OFF, float(values[-1]) + VOLTS_OFF
    return Bands(tuple(limits), words, "V", least, most)


def ohm_bands(readings: Iterable[float]) -> Bands:
    """Ranges of ohms, from everything that could be read; endless ones show as overload.

    >>> ohm_bands([18.0, 19.0, float("inf")]).words
    ('less than 19 kohm', 'more than 19 kohm or overload')
    """
    shown = [min(max(reading, LEADS_OHM), OVERLOAD) for reading in readings]
    values = np.unique(np.log10(shown))
    limits = [_rounded(10.0**mid) for mid in _gaps(values, np.full(values.size, OHMS_APART)[1:])]
    words = _words(limits, _ohms)
    if any(isinf(reading) for reading in readings) and limits:
        words = (*words[:-1], f"{words[-1]}{_OR_OVERLOAD}")
    return Bands(tuple(limits), words, "ohm")


def volts(value: float) -> str:
    """A limit of volts as people write it.

    >>> volts(6.1)
    '6.1 V'
    """
    return say("{value:.1f} V", value=value)


def ohms(value: float) -> str:
    """Ohms as people write them.

    >>> ohms(0.6), ohms(1900.0), ohms(float("inf"))
    ('0.6 ohm', '1.9 kohm', 'overload')
    """
    if isinf(value):
        return say("overload")
    if value >= 1e6:
        return say("{value:.3g} Mohm", value=value / 1e6)
    if value >= 1e3:
        return say("{value:.3g} kohm", value=value / 1e3)
    return say("{value:.3g} ohm", value=value)


def _ohms(value: float) -> str:
    """A limit of ohms in the words that findings are kept by."""
    if value >= 1e6:
        return f"{value / 1e6:.3g} Mohm"
    return f"{value / 1e3:.3g} kohm" if value >= 1e3 else f"{value:.3g} ohm"


def _rounded(value: float) -> float:
    """Two significant figures.

    >>> _rounded(18866.0)
    19000.0
    """
    digits = 1 - int(np.floor(log10(value)))
    return round(value, digits)


def _volts_apart(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Least gap between readings and their next that counts, V.

    >>> _volts_apart(np.array([0.0, 1.6, 9.0, 12.6]))
    array([0.3, 0.6, 0.8])
    """
    higher = np.maximum(np.abs(values[1:]), np.abs(values[:-1]))
    found: NDArray[np.float64] = np.clip(VOLTS_APART * higher / BATTERY, LEAST_APART, VOLTS_APART)
    return found


def _gaps(values: NDArray[np.float64], least: NDArray[np.float64]) -> list[float]:
    """Middles of the widest gaps, at most so many that `MOST` ranges are left."""
    wide = np.diff(values)
    order = np.argsort(-wide, kind="stable")[: MOST - 1]
    chosen = sorted(int(k) for k in order if wide[k] >= least[k])
    return [float(values[k] + wide[k] / 2) for k in chosen]


def _words(limits: list[float], shown: Callable[[float], str]) -> tuple[str, ...]:
    if not limits:
        return ("any",)
    between = [f"{shown(a)} to {shown(b)}" for a, b in pairwise(limits)]
    return (f"less than {shown(limits[0])}", *between, f"more than {shown(limits[-1])}")
