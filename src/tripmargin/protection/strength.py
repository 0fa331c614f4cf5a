"""How the tolerances of the sensor and the filter change the signal's strength."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.quantities import Quantity
from tripmargin.machine import Machine
from tripmargin.sensing.passing import simulate_pass
from tripmargin.sensing.pieces import Piece

Array = NDArray[np.float64]
_TREATED_ELSEWHERE = ("sensor.rotation", "sensor.coil_resistance")


@dataclass(frozen=True, slots=True)
class Strength:
    """The uncertain inputs that scale the signal, and by how much at their ends.

    The change is taken as the same at every place, and each input by itself as a parabola through
    its ends and its middle. `ends` is (inputs, 2): signal over the middle's at low and at high.
    """

    inputs: tuple[tuple[str, Quantity], ...]
    ends: Array

    @classmethod
    def of(cls, machine: Machine, *, x: float, height: float, speed: float) -> Strength:
        """The machine's, from passes of a ball at one place.

        Raises
        ------
        NotKnownError
            If the machine file lacks what a pass needs.
        """
        inputs = tuple(
            (path, q)
            for path, q in machine.uncertain()
            if path.startswith(
                ("sensor.", "detector.gain", "detector.low_cut", "detector.high_cut")
            )
            and path not in _TREATED_ELSEWHERE
        )
        if not inputs:
            return cls((), np.zeros((0, 2)))
        ball = Piece.ball(0.01)

        def peak(one: Machine) -> float:
            return simulate_pass(one, ball, x=x, height=height, speed=speed).peak

        middle = peak(machine)
        ends = []
        for path, q in inputs:
            pair = [
                peak(machine.with_settings({path: Quantity.exact(end, q.dimension)}))
                if path != "detector.gain"
                else middle * end / q.nominal
                for end in (q.low, q.high)
            ]
            ends.append([one / middle if middle > 0 else 1.0 for one in pair])
        return cls(inputs, np.array(ends))

    def factor(self, values: Mapping[str, Array], n: int) -> Array:
        """Signal over the middle's for each draw, (n,)."""
        made = np.ones(n)
        for (path, q), (low, high) in zip(self.inputs, self.ends, strict=True):
            u = (values[path] - q.nominal) / (q.high - q.nominal)
            made *= 1 + u * (high - low) / 2 + u**2 * ((high + low) / 2 - 1)
        return np.maximum(made, 0.0)
