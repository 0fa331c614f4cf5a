"""What an ohmmeter reads under each hypothesis, with the battery disconnected."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tripmargin.circuit import (
    Fault,
    Network,
    nodes_measured,
    operate,
    resistance,
    with_faults,
)
from tripmargin.faultfinding.suspects.hypotheses import Hypothesis
from tripmargin.ground.patience import still_time
from tripmargin.machine.check_sections import Look


class Ohmmeter:
    """An ohmmeter on one machine that was worked before.

    Parameters
    ----------
    network : Network
    worked : sequence of str
        Steps that the machine was worked through.
    """

    def __init__(self, network: Network, worked: Sequence[str]) -> None:
        self.network, self.worked = network, worked
        self._parts = {part.name: part for part in network.parts}
        self._met: dict[tuple[tuple[str, ...], ...], tuple[Network, tuple[str, ...]]] = {}

    def readings(
        self, steps: Sequence[str], look: Look, hypotheses: Sequence[Hypothesis]
    ) -> NDArray[np.float64]:
        """Ohm between a look's nodes, after the steps of its state; (H,), infinite: overload."""
        red, black = look.between
        unplugged = _unplugged(self.network, look)
        _, closed = self._left(steps, ())
        near = nodes_measured(self.network, red, black, closed=closed, unplugged=unplugged)
        known: dict[tuple[str, ...], float] = {}
        readings = []
        for hypothesis in hypotheses:
            faults = tuple(each for each in hypothesis.faults if self._near(each, near))
            if any(_bridges(each) for each in faults):
                faults = hypothesis.faults
            names = _names(faults)
            if names not in known:
                still_time()
                faulty, now = self._left(steps, faults)
                known[names] = resistance(
                    faulty,
                    red,
                    black,
                    closed=[name for name in now if name not in unplugged],
                    unplugged=[name for name in unplugged if _there(faulty, name)],
                )
            readings.append(known[names])
        return np.array(readings)

    def _left(
        self, steps: Sequence[str], faults: tuple[Fault, ...]
    ) -> tuple[Network, tuple[str, ...]]:
        """The network with faults in it, and the contacts that are closed after some steps."""
        key = tuple(steps), _names(faults)
        if key not in self._met:
            moved = any(each.behaviour for each in faults)
            closed = (
                operate(self.network, [*self.worked, *steps], faults)[-1].closed
                if moved or not faults
                else self._left(steps, ())[1]
            )
            self._met[key] = with_faults(self.network, faults), closed
        return self._met[key]

    def _near(self, fault: Fault, nodes: frozenset[str]) -> bool:
        """Whether a fault may change what a meter at these nodes shows."""
        if "plunger_stuck" in fault.behaviour:
            return True
        for change in fault.changes:
            part = change.added if change.added is not None else self._parts.get(change.part)
            if part is not None and {part.p, part.n} & nodes:
                return True
        return False


def _unplugged(network: Network, look: Look) -> list[str]:
    """The network's parts that go with what is unplugged."""
    return [
        part.name
        for part in network.parts
        if any(part.name == name or part.name.startswith(f"{name}.") for name in look.unplugged)
    ]


def _bridges(fault: Fault) -> bool:
    """Whether a fault joins nodes, so that a meter reaches what it did not reach before."""
    return any(
        change.kind == "add" or (change.kind == "stuck" and change.value is True)
        for change in fault.changes
    )


def _names(faults: Sequence[Fault]) -> tuple[str, ...]:
    return tuple(fault.id for fault in faults)


def _there(network: Network, name: str) -> bool:
    return any(part.name == name for part in network.parts)
