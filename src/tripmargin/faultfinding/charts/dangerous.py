"""Which share of the dangerous faults the daily check reveals to whoever makes it as a log asks.

A log asks three things of a daily check: did it trip, did it reset, were the lamps as expected. The
first two are seen by what the rolls do, the third by the lamps and buzzers.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.charts.effects import STOPPED, metal_under, single_faults
from tripmargin.faultfinding.suspects.check_paths import path_named, signs_in
from tripmargin.faultfinding.suspects.machine_problem import MachineProblem
from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import later, say

TOLD = 5
"""Faults named that the check leaves open."""


@dataclass(frozen=True, slots=True)
class DangerousCoverage:
    """What a machine's daily check reveals of its dangerous faults.

    Attributes
    ----------
    daily : str
        The check's name in the machine's file.
    faults : int
        Single faults with which metal that a sound machine stops in time goes through or is stopped
        late.
    rate : float
        Of all of them, per 1000 operating hours.
    by_feed : float
        Share of that rate that shows in what the rolls do: it does not trip, or not reset.
    with_lamps : float
        The same where lamps and buzzers are looked at as well.
    leaves_open : tuple of str
        The most frequent of those that show in neither, in words; `TOLD` at most.
    """

    daily: str
    faults: int
    rate: float
    by_feed: float
    with_lamps: float
    leaves_open: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready: shares from 0 to 1, the rate per 1000 h."""
        return {**asdict(self), "leaves_open": list(self.leaves_open)}


def dangerous_coverage(of: MachineProblem) -> DangerousCoverage:
    """Which share of the rate of dangerous faults a machine's daily check reveals.

    Raises
    ------
    NotKnownError
        If no fault of the machine is dangerous by its file: then there is no share of them.

    Notes
    -----
    As in `coverage` looks are taken as made without slips, and a fault that comes and goes as
    there. A fault outside the circuit (a weak magnet, a wide gap) shows in no lamp, and not in what
    the rolls do.
    """
    single = single_faults(of)
    dangerous = np.array([metal_under(of.shown, each) != STOPPED for each in single])
    rates = np.array([each.causes[0].rate for each in single]) * dangerous
    if not rates.sum() > 0:
        raise NotKnownError(
            later("which dangerous faults the daily check finds"),
            [say("circuit.faults: a dangerous one")],
        )
    feed, lamps = _shown(of)
    feed, either = _single(of, feed), _single(of, feed | lamps)
    left = sorted(
        (k for k in np.flatnonzero(dangerous & ~either) if rates[k] > 0), key=lambda k: -rates[k]
    )
    return DangerousCoverage(
        of.checks.daily,
        int(dangerous.sum()),
        float(rates.sum()),
        float(rates[feed].sum() / rates.sum()),
        float(rates[either].sum() / rates.sum()),
        tuple(single[k].text for k in left[:TOLD]),
    )


def _shown(of: MachineProblem) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Whether rolls, and whether lamps or buzzers, are not a sound machine's; (H,) and (H,)."""
    path = path_named(of.checks, of.checks.daily)
    feed = np.zeros(len(of.hypotheses), bool)
    lamps = feed.copy()
    for number, state in enumerate(of.states):
        if state.name not in path.states:
            continue
        signs = [name for name, _, _ in signs_in(of.shown, of.checks, state)]
        watched = [name for name in signs if not path.watch or name in path.watch]
        for found, columns in ((feed, ["rolls"]), (lamps, watched)):
            for column in columns:
                words = of.shown.words(number, column)
                found |= words != words[of.nothing]
    return feed, lamps


def _single(of: MachineProblem, shown: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """An array over hypotheses as one over `single_faults`; nothing shows the last of these."""
    alone = np.array([each.listed for each in of.hypotheses])
    return np.concatenate([shown[alone], np.zeros(len(of.invisible), bool)])
