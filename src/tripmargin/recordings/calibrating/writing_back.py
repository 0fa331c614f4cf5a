"""A posterior as fields of the machine file, so that all that reads the file knows it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.quantities import Quantity, quantity
from tripmargin.ground.results import plain
from tripmargin.ground.units import DIMENSIONS, from_si
from tripmargin.recordings.calibrating.sampling import Posterior
from tripmargin.recordings.calibrating.seeing import SensorDoubt
from tripmargin.recordings.calibrating.signals import Signal
from tripmargin.recordings.calibrating.stops import StopDoubt

Floats = NDArray[np.float64]
VARYING = ("feed.", "chain.supply", "chain.hold_winding.temperature")
_WIDE = 0.2  # standard deviation of a logarithm: more is not written as a normal distribution
_EXACT = 1e-6  # of a value: less doubt than this is none


@dataclass(frozen=True, slots=True)
class CalibratedField:
    """One field of the machine file, before and after."""

    path: str
    before: Quantity
    after: Quantity

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return dict(plain({"field": self.path, "before": self.before, "after": self.after}))


def normal_quantity(value: float, sd: float, dimension: str) -> Quantity:
    """A quantity with a standard deviation, written in the unit that a person would choose.

    >>> normal_quantity(0.0031, 0.0002, "time").text
    '3.10 ms +- 0.20 ms (sd)'
    """
    kind = DIMENSIONS[dimension]
    unit = kind.metric
    factor, name = kind.units[unit].factor, f" {unit}" if unit else ""
    said = from_si(value, dimension, unit)
    if sd <= _EXACT * abs(value):
        return quantity(f"{said:.6g}{name}", dimension)
    off = f"{sd / factor:.2g}"
    places = max(0, 1 - int(np.floor(np.log10(float(off)))))
    middle = f"{round(said, places) + 0.0:.{places}f}"  # no "-0.0"
    return quantity(f"{middle}{name} +- {float(off):.{places}f}{name} (sd)", dimension)


def _gain(nominal: float, log_sd: float) -> Quantity:
    """A gain known to within a factor; limits where a normal distribution would reach nothing."""
    if log_sd <= _WIDE:
        return normal_quantity(nominal, nominal * log_sd, "number")
    off = float(np.exp(np.sqrt(3) * log_sd))
    low, high = (float(f"{value:.3g}") for value in (nominal / off, nominal * off))
    return quantity(f"{low:g} .. {high:g}", "number")


def stop_fields(doubt: StopDoubt, learned: Posterior, cut_length: float) -> list[CalibratedField]:
    """The stop's fields: each at its posterior mean, the doubts drawn in together.

    A stop time tells the sum of the stages and hardly which of them it lies in. A file says each
    field by itself, so the fields' standard deviations are drawn in by one factor until the stop
    time that follows from them is as sure as the posterior's. What changes from day to day, such as
    the supply, is left as the file has it.
    """
    values = {
        path: column
        for path, column in doubt.values(learned.points).items()
        if not path.startswith(VARYING)
    }
    if not values:
        return []
    middle = {path: learned.mean(column) for path, column in values.items()}
    sd = {path: learned.sd(column) for path, column in values.items()}
    target = learned.sd(doubt.terms(values, cut_length).middle())
    alone = 0.0
    for path in middle:
        pair = {p: np.array([m, m]) for p, m in middle.items()}
        pair[path] = middle[path] + sd[path] * np.array([-1.0, 1.0])
        low, high = doubt.terms(pair, cut_length).middle()
        alone += ((high - low) / 2) ** 2
    drawn_in = min(1.0, target / np.sqrt(alone)) if alone > 0 else 1.0
    return [
        CalibratedField(path, q, normal_quantity(middle[path], drawn_in * sd[path], q.dimension))
        for path, q in doubt.inputs
        if path in values and _learned(q, middle[path], drawn_in * sd[path])
    ]


def _learned(before: Quantity, middle: float, sd: float) -> bool:
    """Whether a field moved or became surer by enough to write it anew."""
    return sd < 0.95 * before.sd or abs(middle - before.nominal) > 0.1 * before.sd


def sensor_fields(
    doubt: SensorDoubt, learned: Posterior, places: Mapping[str, Signal]
) -> tuple[list[CalibratedField], dict[str, Any]]:
    """The sensor's fields, and the settings that make the calibrated machine.

    Passes tell gain times magnets over threshold, at the heights where they were made. The whole of
    it goes to the gain: the file's magnets and windings become exact, its heights stay, and the
    gain's doubt is the greatest that ln(peak / threshold) has at any of the places, less the
    threshold's own.
    """
    draws = doubt.draws(learned.points)
    settings: dict[str, Any] = {
        path: Quantity.exact(q.nominal, q.dimension)
        for path, q in doubt.machine.uncertain()
        if path.startswith("sensor.") and not path.startswith(("sensor.rotation", "sensor.coil"))
    }
    threshold = doubt.threshold.nominal * np.exp(draws.threshold)
    at, level_sd = learned.mean(threshold), learned.sd(threshold)
    gains = [
        draws.signal
        - draws.threshold
        + one.log_peak(draws.height, draws.turn)
        - one.log_peak(np.zeros(1), np.array([doubt.turn.nominal]))
        for one in places.values()
    ]
    log_gain = float(np.mean([learned.mean(each) for each in gains]))
    doubtful = max(learned.sd(each) for each in gains)
    log_level = float(np.log(at / doubt.threshold.nominal))
    gain = doubt.gain.nominal * np.exp(log_gain + log_level)
    left = np.sqrt(max(doubtful**2 - (level_sd / at) ** 2, 0.0))
    fields = [CalibratedField("detector.gain", doubt.gain, _gain(float(gain), float(left)))]
    if doubt.threshold.uncertain:
        after = normal_quantity(at, level_sd, "voltage")
        fields.append(CalibratedField("detector.threshold", doubt.threshold, after))
    if doubt.turn.uncertain:
        at, off = learned.mean(draws.turn), learned.sd(draws.turn)
        if _learned(doubt.turn, at, off):
            turn = normal_quantity(at, off, "angle")
            fields.append(CalibratedField("sensor.rotation", doubt.turn, turn))
    settings |= {each.path: each.after for each in fields}
    return fields, settings
