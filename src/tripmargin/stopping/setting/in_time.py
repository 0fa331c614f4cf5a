"""What a gap costs in the race: how surely the stop is in time with the pawls set so and so."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from tripmargin.ground.draws import draw
from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import later
from tripmargin.ground.quantities import Quantity
from tripmargin.machine import Machine
from tripmargin.stopping.chain import stop_chain
from tripmargin.stopping.densities import Followed
from tripmargin.stopping.stages import StageModel, serial_stages
from tripmargin.stopping.travel_chances import StopDensities, travel_chances

InTime = Callable[[Mapping[str, Quantity], float], float]
"""Gaps by pawl (with their doubt, m) and a cut length (m) to the chance of being in time."""
_FEW, _FEW_BY_PARTS = 1 << 12, 1 << 10  # draws of a swing: a target wants no far tails
_ABOUT = 0.5e-3  # m either side, for what a millimetre costs


def normal_gap(gap: float, sd: float) -> Quantity:
    """A gap with its standard deviation, m."""
    if sd <= 0:
        return Quantity.exact(gap, "length")
    text = f"{gap * 1e3:.4g} mm +- {sd * 1e3:.2g} mm (sd)"
    return Quantity(gap, gap - 2 * sd, gap + 2 * sd, "normal", "length", text)


def with_gaps(machine: Machine, gaps: Mapping[str, Quantity]) -> Machine:
    """The machine with its pawls' clearances set otherwise; pawls not named stay."""
    chain = machine.chain
    if chain is None:
        raise NotKnownError(later("the pawls' gaps"), ["chain.pawls"])
    pawls = tuple(
        replace(pawl, clearance=gaps[pawl.name]) if pawl.name in gaps else pawl
        for pawl in chain.pawls
    )
    return replace(machine, chain=replace(chain, pawls=pawls))


@lru_cache(maxsize=32)
def _whole(model: StageModel) -> Followed:
    return Followed.whole(model)


def quick_densities(machine: Machine) -> StopDensities:
    """The stop's densities, the pawls' swings by few draws; the stages before are remembered.

    Raises
    ------
    NotKnownError
        If the machine file lacks what the stop needs.
    """
    before = frozenset(serial_stages(machine))

    def follow(model: StageModel) -> Followed:
        if model in before:
            return _whole(model)
        values, weights = draw(model.inputs, _FEW_BY_PARTS if model.by_parts else _FEW)
        times = np.asarray(sum(np.broadcast_to(t, weights.shape) for t in model.at(values)))
        return Followed(((float(times.min()), float(times.max())),), times, weights)

    return StopDensities.added_up(machine, follow)


def above_the_axis(machine: Machine) -> InTime:
    """The chance for metal that trips above the sensor's axis: it asks nothing of the sensor.

    Raises
    ------
    NotKnownError
        When it is called, if the machine file lacks what the race needs.
    """

    @lru_cache(maxsize=4)
    def densities(gaps: tuple[tuple[str, Quantity], ...]) -> StopDensities:
        return quick_densities(with_gaps(machine, dict(gaps)))

    def chance(gaps: Mapping[str, Quantity], cut_length: float) -> float:
        made = densities(tuple(gaps.items()))
        travel = travel_chances(made.machine, cut_length, densities=made, fine=False)
        return 1.0 - float(travel.late(0.0, fine=False))

    return chance


def cuts_of(machine: Machine, cut_lengths: Sequence[float] | None) -> tuple[float, ...]:
    """The cuts asked for, or those on offer, m.

    Raises
    ------
    ValueError
        If a cut length is not positive and finite.
    """
    from tripmargin.stopping.feed import require_cut

    if cut_lengths is None:
        return machine.feed.cut_lengths if machine.feed is not None else ()
    for cut in cut_lengths:
        require_cut(float(cut))
    return tuple(sorted({float(cut) for cut in cut_lengths}))


def travel_per_gap(machine: Machine, gaps: Mapping[str, float], cut_length: float) -> float:
    """Travel of the metal that all gaps wider by one cost together, m for each m.

    Raises
    ------
    NotKnownError
        If the machine file lacks what the stop needs.
    """
    ends = [
        stop_chain(
            with_gaps(
                machine,
                {name: Quantity.exact(max(gap + by, 0.0), "length") for name, gap in gaps.items()},
            ),
            cut_length=cut_length,
        ).travel.nominal
        for by in (-_ABOUT, _ABOUT)
    ]
    return (ends[1] - ends[0]) / (2 * _ABOUT)
