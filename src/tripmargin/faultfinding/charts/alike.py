"""Which faults look the same from outside, and whether the same repair mends them."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from tripmargin.faultfinding.charts.isolability import (
    ambiguity_groups,
    detected_fraction,
    isolated_fraction,
)
from tripmargin.faultfinding.suspects.hypotheses import Hypothesis
from tripmargin.faultfinding.suspects.machine_problem import MachineProblem, machine_problem
from tripmargin.machine import Machine

GROUP_SIZES = (1, 2, 3)
"""Greatest numbers of faults in a group for which the fraction isolated is told."""


@dataclass(frozen=True, slots=True)
class AlikeGroup:
    """Single faults that give equal answers in every look.

    `repairs` holds each repair that one of them needs; `rate` is per 1000 operating hours, of all.
    """

    faults: tuple[str, ...]
    texts: tuple[str, ...]
    repairs: tuple[str, ...]
    rate: float

    @property
    def one_repair(self) -> bool:
        """Whether the same repair mends all of them, so that it does not matter which it is."""
        return len(self.repairs) == 1


@dataclass(frozen=True, slots=True)
class Alike:
    """How far looks from outside show that something is broken, and what.

    Attributes
    ----------
    looks : int
        Looks that were compared.
    groups : tuple of AlikeGroup
        Groups of two faults or more, those that need different repairs first.
    detected : float
        Share by rate of the single faults that at least one look shows.
    isolated : dict of int to float
        Share by rate that the looks narrow down to a group of so many faults at most.
    one_repair : float
        Share by rate that the looks narrow down to one repair.
    """

    looks: int
    groups: tuple[AlikeGroup, ...]
    detected: float
    isolated: dict[int, float]
    one_repair: float

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready: shares from 0 to 1, rates per 1000 h."""
        made = asdict(self)
        for group, mine in zip(made["groups"], self.groups, strict=True):
            group["one_repair"] = mine.one_repair
        return made


def alike(machine: Machine | MachineProblem) -> Alike:
    """Group the single faults of a machine by what every look shows.

    Raises
    ------
    NotKnownError
        If the machine file has no `[circuit]` or no `[checks]`.

    Notes
    -----
    Fractions after IEEE 1522, from memory, over all single faults, those that nothing shows among
    them. A fault that comes and goes counts as there, so it looks like the same break that stays.
    """
    of = machine if isinstance(machine, MachineProblem) else machine_problem(machine)
    seen = [k for k, each in enumerate(of.hypotheses) if each.listed]
    faults = [*(of.hypotheses[k] for k in seen), *of.invisible]
    signatures = np.zeros((len(faults), len(of.looks)), dtype=np.intp)
    signatures[: len(seen)] = np.array([each.answers[seen] for each in of.looks]).T
    healthy = np.zeros(len(of.looks), dtype=np.intp)
    weights = np.array([each.causes[0].rate for each in faults])
    repairs = repair_ids(of)
    groups = [
        _group([faults[k] for k in each], repairs) for each in ambiguity_groups(signatures, healthy)
    ]
    groups.sort(key=lambda group: (group.one_repair, -group.rate))
    sure = sum(group.rate for group in groups if group.one_repair)
    return Alike(
        len(of.looks),
        tuple(group for group in groups if len(group.faults) > 1),
        detected_fraction(signatures, weights, healthy),
        {n: isolated_fraction(signatures, weights, healthy, group=n) for n in GROUP_SIZES},
        float(sure / weights.sum()),
    )


def repair_ids(of: MachineProblem) -> dict[str, str]:
    """The repair for each thing that may have to be mended."""
    return {mended: work.id for work in of.repairs for mended in work.mended}


def _group(faults: list[Hypothesis], repairs: dict[str, str]) -> AlikeGroup:
    return AlikeGroup(
        tuple(each.id for each in faults),
        tuple(each.text for each in faults),
        tuple(dict.fromkeys(repairs[each.causes[0].mended] for each in faults)),
        float(sum(each.causes[0].rate for each in faults)),
    )
