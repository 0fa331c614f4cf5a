"""The parts of a quiet run put together: as if all of it had been taken apart at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce

import numpy as np
from numpy.typing import NDArray

from tripmargin.recordings.noise.orders import Synchronous
from tripmargin.recordings.noise.result import Event
from tripmargin.recordings.noise.spectrum import Spectrum
from tripmargin.recordings.noise.taking_apart import Floor, Part
from tripmargin.recordings.noise.turns import ahead
from tripmargin.recordings.recording import Guess

Floats = NDArray[np.float64]
_NEAR = 0.25  # of the rate: a roll driven by an engine wanders less, and half the rate is farther


@dataclass(frozen=True)
class Whole:
    """A run taken apart.

    Attributes
    ----------
    floor
        rms of what does not turn, V.
    excess
        Its excess kurtosis.
    rate
        Turns a second: mean, least and greatest; None where the turning is not known.
    used
        Parts that count.
    laid
        Whether the turns of parts had to be laid on each other.
    events
        Their times from the recording's beginning, s.
    """

    floor: float
    excess: float
    synchronous: Synchronous | None
    rate: tuple[float, float, float] | None
    guesses: tuple[Guess, ...]
    spectrum: Spectrum
    events: tuple[Event, ...]
    crossings: int
    used: int
    laid: bool = False


def put_together(parts: Sequence[Part], *, counted: bool) -> Whole:
    """All parts as one; those without a turning are left out where others have it.

    Parameters
    ----------
    parts
        One at least.
    counted
        Whether turns were counted through all parts, as by a pickup. Else a part in which they
        stand out by themselves counts them from a beginning of its own, and is laid on the others.
    """
    turning = [each for each in parts if each.turning is not None]
    by_themselves = [each for each in turning if each.turning and each.turning.guesses]
    seen = [] if counted else _alike(by_themselves)
    used = seen or turning or list(parts)
    laid = bool(seen)
    synchronous: Synchronous | None = None
    for each in used:
        found = each.synchronous
        if found is None:
            continue
        if synchronous is None:
            synchronous = found
            continue
        if laid:
            size = min(len(found.mean), len(synchronous.mean))
            found = found.turned(-ahead(found.mean[:size], synchronous.mean[:size]))
        synchronous = synchronous.with_(found)
    floor = reduce(Floor.with_, (each.floor for each in used))
    power = floor.power - _counted_twice(used, synchronous) / floor.count
    rates = np.array([each.turning.rate for each in used if each.turning is not None])
    seconds = np.array([each.spectrum.seconds for each in used if each.turning is not None])
    rate = None
    if len(rates):
        mean = float((rates[:, 0] * seconds).sum() / seconds.sum())
        rate = (mean, float(rates[:, 1].min()), float(rates[:, 2].max()))
    first = next((each.turning for each in used if each.turning is not None), None)
    return Whole(
        float(np.sqrt(max(power, 0.0))), floor.excess, synchronous, rate,
        first.guesses if first else (), reduce(Spectrum.with_, (each.spectrum for each in used)),
        tuple(event for each in parts for event in each.events),
        sum(each.crossings for each in parts), len(used), laid and len(used) > 1,
    )  # fmt: skip


def _alike(parts: list[Part]) -> list[Part]:
    """The parts whose rates agree with the middle one: others found something else that repeats."""
    rates = np.array([each.turning.rate[0] for each in parts if each.turning is not None])
    if not len(rates):
        return []
    near = np.abs(rates / np.median(rates) - 1) < _NEAR
    return [each for each, one in zip(parts, near, strict=True) if one]


def _counted_twice(parts: Sequence[Part], synchronous: Synchronous | None) -> float:
    """Squares, V2, of orders that stand out of the whole run but not of a part of it.

    In such a part they are still in the floor.
    """
    if synchronous is None:
        return 0.0
    noise = np.trace(synchronous.covariance, axis1=1, axis2=2)
    power = np.where(synchronous.sure, (np.abs(synchronous.mean) ** 2 - noise) / 2, 0.0)
    total = 0.0
    for each in parts:
        seen = np.zeros(len(power), np.bool_)
        if each.synchronous is not None:
            seen[:] = each.synchronous.sure[: len(power)]
        total += float(power[~seen].clip(min=0).sum()) * each.floor.count
    return total
