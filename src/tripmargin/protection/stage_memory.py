"""The stages of a stop, remembered from one setting to the next: most settings touch one stage."""

from __future__ import annotations

import numpy as np

from tripmargin.ground.draws import draw
from tripmargin.ground.errors import NotKnownError
from tripmargin.machine import Machine
from tripmargin.protection.remembered import Remembered
from tripmargin.protection.stops import Stops
from tripmargin.stopping import StopDensities
from tripmargin.stopping.densities import Followed
from tripmargin.stopping.stages import StageModel, pawls_of, serial_stages, swing_stage

_STAGES = 12  # kept beside the machine's own, up to 2 MB each
_FEW, _FEW_BY_PARTS = 1 << 13, 1 << 10  # draws while a slider is still moving


def _few(model: StageModel) -> Followed:
    """A stage followed with few draws."""
    values, weights = draw(model.inputs, _FEW_BY_PARTS if model.by_parts else _FEW)
    times = np.asarray(sum(np.broadcast_to(t, weights.shape) for t in model.at(values)))
    return Followed(((float(times.min()), float(times.max())),), times, weights)


class StageMemory:
    """Stages followed before, for machines that differ from one in a setting or two.

    A stage with two or more uncertain inputs is followed with few draws where a setting touches it,
    and whole where it is the machine's own.
    """

    def __init__(self, machine: Machine) -> None:
        self._known = Remembered[tuple[StageModel, bool], Followed](_STAGES)
        try:
            models = _models(machine)
        except NotKnownError:
            models = ()
        self._own = frozenset(models)
        self._kept = Remembered[StageModel, Followed](len(self._own))

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

        def follow(model: StageModel) -> Followed:
            if model in self._own:
                return self._kept.get(model, lambda: Followed.whole(model))
            if whole or len(model.uncertain) < 2:
                return self._known.get((model, True), lambda: Followed.whole(model))
            return self._known.get((model, False), lambda: _few(model))

        return Stops(machine, StopDensities.added_up(machine, follow))


def _models(machine: Machine) -> tuple[StageModel, ...]:
    """Every stage whose times are remembered."""
    return (
        *serial_stages(machine),
        *(swing_stage(machine, pawl) for pawl in pawls_of(machine)),
    )
