"""The stages of a stop, remembered from one setting to the next: most settings touch one stage."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.draws import draw
from tripmargin.ground.errors import NotKnownError
from tripmargin.machine import Machine
from tripmargin.protection.remembered import Remembered
from tripmargin.protection.stops import Stops
from tripmargin.stopping import StopDensities
from tripmargin.stopping.densities import Density, draws_of, gathered, total_time
from tripmargin.stopping.stages import (
    StageModel,
    pawls_of,
    rest_angle,
    serial_stages,
    swing_stage,
)
from tripmargin.stopping.travel_chances import _ANGLE_DRAWS, _GRID, _STEPS

Array = NDArray[np.float64]
_STAGES = 12  # kept beside the machine's own, up to 2 MB each
_FEW, _FEW_BY_PARTS = 1 << 13, 1 << 10  # draws while a slider is still moving


@dataclass(frozen=True, slots=True)
class _Known:
    """A stage that was followed: limits of each of its times, draws of their sum, weights, s."""

    limits: tuple[tuple[float, float], ...]
    times: Array
    weights: Array

    @classmethod
    def whole(cls, model: StageModel) -> _Known:
        return cls(model.limits(), *total_time(model))

    @classmethod
    def few(cls, model: StageModel) -> _Known:
        values, weights = draw(model.inputs, _FEW_BY_PARTS if model.by_parts else _FEW)
        times = np.asarray(sum(np.broadcast_to(t, weights.shape) for t in model.at(values)))
        return cls(((float(times.min()), float(times.max())),), times, weights)


class StageMemory:
    """Stages followed before, for machines that differ from one in a setting or two.

    A stage with two or more uncertain inputs is followed with few draws where a setting touches it,
    and whole where it is the machine's own.
    """

    def __init__(self, machine: Machine) -> None:
        self._known = Remembered[tuple[object, ...], _Known](_STAGES)
        try:
            models = _models(machine)
        except NotKnownError:
            models = ()
        self._own = frozenset(_key(machine, model) for model in models)
        self._kept = Remembered[tuple[object, ...], _Known](len(self._own))

    def stops(self, machine: Machine, *, whole: bool = False) -> Stops:
        """A machine's stops.

        Parameters
        ----------
        machine : Machine
        whole : bool
            Follow every stage whole, whatever it takes: the densities are then those of
            `StopDensities.of`.

        Raises
        ------
        NotKnownError
            If the machine file lacks what the stop needs.
        """

        def known(model: StageModel) -> _Known:
            key = _key(machine, model)
            if key in self._own:
                return self._kept.get(key, lambda: _Known.whole(model))
            if whole or len(model.uncertain) < 2:
                return self._known.get((*key, "whole"), lambda: _Known.whole(model))
            return self._known.get((*key, "few"), lambda: _Known.few(model))

        serial = [known(model) for model in serial_stages(machine)]
        swings = [known(swing_stage(machine, pawl)) for pawl in pawls_of(machine)]
        ends = [end for stage in serial for end in stage.limits]
        ends.append(max((stage.limits[0] for stage in swings), key=lambda end: end[1] - end[0]))
        finite = all(np.isfinite(high) for _, high in ends)
        spread = sum(high - low for low, high in ends) if finite else np.inf
        step = float(np.clip(spread / _GRID, *_STEPS))
        before = Density(0.0, step, np.ones(1))
        for stage in serial:
            before = before + gathered(stage.times, stage.weights, step)
        densities = StopDensities(
            machine,
            step,
            before,
            tuple(gathered(stage.times, stage.weights, step) for stage in swings),
            draws_of(rest_angle(machine, 1.0), _ANGLE_DRAWS),
        )
        return Stops(machine, densities)


def _models(machine: Machine) -> tuple[StageModel, ...]:
    """Every stage whose times are remembered."""
    return (
        *serial_stages(machine),
        *(swing_stage(machine, pawl) for pawl in pawls_of(machine)),
    )


def _key(machine: Machine, model: StageModel) -> tuple[object, ...]:
    """All that a stage's times follow from: its inputs, and the kind of suppression fitted."""
    fitted = machine.chain.hold_winding.suppression if machine.chain is not None else None
    return model.names, model.inputs, model.by_parts, fitted
