"""The fewest wrench moves from measured gaps to good ones, each with what to expect."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np

from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import say
from tripmargin.ground.results import Spread, plain
from tripmargin.machine import Machine
from tripmargin.stopping.setting.adjusters import Adjusters, adjusters_of
from tripmargin.stopping.setting.aim_words import aim_words
from tripmargin.stopping.setting.aiming import Aims, aims
from tripmargin.stopping.setting.in_time import InTime, above_the_axis, cuts_of, travel_per_gap
from tripmargin.stopping.setting.learning import Learned, learn
from tripmargin.stopping.setting.past import past_of
from tripmargin.stopping.setting.planning import Moves, moves
from tripmargin.stopping.setting.readings import readings_of, require_in_reach
from tripmargin.stopping.setting.room import inside
from tripmargin.stopping.setting.sequence import Step, sequence
from tripmargin.stopping.setting.step_words import CAUTIONS


@dataclass(frozen=True, slots=True, eq=False)
class Steps:
    """What to do with the pawls, in order.

    Attributes
    ----------
    readings : dict of pawl to gap, m
        As measured.
    steps : tuple of Step
        Empty where everything is left as it is.
    moved : tuple of str
        Pawls that are moved, in the order of the work.
    gaps_now, gaps_after : dict of pawl to Spread, m
        As measured, and as they should be found at the end; limits are 2 standard deviations.
    inside_now, inside_after : dict of pawl to float
        Chance that each gap is inside the window until it is set again. After: at once, before
        anything is measured and put right.
    aims : Aims
    costs : tuple of (cut length m, m of travel for each m of gap)
    learned : tuple of Learned
    adjusters : Adjusters
    """

    machine_name: str
    readings: dict[str, float]
    steps: tuple[Step, ...]
    moved: tuple[str, ...]
    gaps_now: dict[str, Spread]
    gaps_after: dict[str, Spread]
    inside_now: dict[str, float]
    inside_after: dict[str, float]
    aims: Aims
    costs: tuple[tuple[float, float], ...]
    learned: tuple[Learned, ...]
    adjusters: Adjusters

    @property
    def cautions(self) -> tuple[str, ...]:
        """What comes before every step."""
        return tuple(say(caution) for caution in CAUTIONS)

    @property
    def leave(self) -> bool:
        """Whether nothing is to be touched."""
        return not self.moved

    @property
    def assumed(self) -> tuple[str, ...]:
        """What the machine file does not say, and what was taken."""
        return self.adjusters.assumed

    def because(self, us: bool = False) -> tuple[str, ...]:
        """Why the aims lie where they do."""
        return aim_words(self.adjusters, self.aims, self.costs, us)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        made: dict[str, Any] = plain(
            {
                "machine": self.machine_name,
                "cautions": self.cautions,
                "readings_m": self.readings,
                "leave": self.leave,
                "moved": self.moved,
                "steps": self.steps,
                "gaps_now_m": self.gaps_now,
                "gaps_after_m": self.gaps_after,
                "probability_inside_now": self.inside_now,
                "probability_inside_after": self.inside_after,
                "because": self.because(),
                "aims": self.aims,
                "travel_per_gap": [
                    {"cut_length_m": cut, "travel_m_per_m": cost} for cut, cost in self.costs
                ],
                "learned": self.learned,
                "adjusters": self.adjusters,
                "assumed": self.assumed,
            }
        )
        return made


def pawl_steps(
    machine: Machine,
    *,
    lower_gap: float | None = None,
    upper_gap: float | None = None,
    gaps: Mapping[str, float] | None = None,
    cut_lengths: Sequence[float] | None = None,
    feeler_step: float | None = None,
    history: Iterable[Any] = (),
    best: bool = False,
    in_time: InTime | None = None,
) -> Steps:
    """The fewest wrench moves from measured gaps to the best place in the window.

    Parameters
    ----------
    machine : Machine
    lower_gap, upper_gap : float, m
        Of the pawls called "lower" and "upper".
    gaps : mapping of pawl to float, m, optional
        The same for pawls of any name. Every pawl of the machine must be measured.
    cut_lengths : sequence of float, m, optional
        Those in use; by default all on offer.
    feeler_step : float, m, optional
        Of the gauge in hand; by default the file's.
    history : iterable of Adjustment, or of (before, after, turns)
        Past settings of this machine, to learn from; see `learn`.
    best : bool
        Move to the best place also what is inside the window and could stay.
    in_time : callable, optional
        What the race says, if not for metal that trips above the sensor's axis; see
        `protection.setting`.

    Returns
    -------
    Steps
        Without any step where all gaps are inside the window and surely stay there.

    Raises
    ------
    NotKnownError
        If the machine file has no pawls.
    SettingError
        If a gap is missing, is no gap, or is so far off that a part must be bent or wrong.
    ValueError
        If a cut length or the feeler's step cannot be.

    Notes
    -----
    The file's order of pawls is the order of the work: the lower pawl by its clevis, then the upper
    by its clamp, then the lower measured again. What moving one does to the others is reckoned
    with beforehand. See `planning`, `aiming` and `learning`.

    Examples
    --------
    >>> import tripmargin
    >>> curlew = tripmargin.load_machine("curlew")
    >>> plan = pawl_steps(curlew, lower_gap=0.0062, upper_gap=0.0041)
    >>> [(step.do, step.pawl, step.turns) for step in plan.steps][:3]
    [('turn', 'lower', -2.0), ('tighten', 'lower', None), ('measure', 'lower', None)]
    """
    adjusters = adjusters_of(machine, feeler_step=feeler_step)
    readings = readings_of(adjusters, lower_gap=lower_gap, upper_gap=upper_gap, gaps=gaps)
    adjusters, learned = learn(adjusters, past_of(history, adjusters.names))
    cuts = cuts_of(machine, cut_lengths)
    stop = replace(machine, sensor=None, circuit=None, checks=None, assumed=(), changed=(), file="")
    if in_time is None:
        found, costs = _aims_above_the_axis(stop, adjusters, cuts)
    else:
        found = aims(adjusters, in_time, cuts)
        costs = _costs(stop, found)
    r = np.array(list(readings.values()))
    require_in_reach(adjusters, r, found.gaps)
    made = moves(r, adjusters, found, best=best)
    return _steps(machine.name, readings, adjusters, found, costs, made, learned)


@lru_cache(maxsize=16)
def _aims_above_the_axis(
    machine: Machine, adjusters: Adjusters, cuts: tuple[float, ...]
) -> tuple[Aims, tuple[tuple[float, float], ...]]:
    """Remembered: the same machine is asked about again after each measure."""
    found = aims(adjusters, above_the_axis(machine), cuts)
    return found, _costs(machine, found)


def _costs(machine: Machine, found: Aims) -> tuple[tuple[float, float], ...]:
    at = {each.pawl: each.gap for each in found.pawls}
    try:
        return tuple((cut, travel_per_gap(machine, at, cut)) for cut in found.cuts)
    except NotKnownError:
        return ()


def _steps(
    name: str,
    readings: dict[str, float],
    adjusters: Adjusters,
    found: Aims,
    costs: tuple[tuple[float, float], ...],
    made: Moves,
    learned: tuple[Learned, ...],
) -> Steps:
    r = np.array(list(readings.values()))
    now = np.full(len(r), adjusters.reading_sd)
    names = adjusters.names
    moved = tuple(n for n, m in zip(names, made.moved[0], strict=True) if m)
    return Steps(
        machine_name=name,
        readings=readings,
        steps=sequence(r, adjusters, found, made) if moved else (),
        moved=moved,
        gaps_now=_spreads(names, r, now),
        gaps_after=_spreads(names, made.after[0], made.after_sd[0]),
        inside_now=dict(zip(names, inside(r, now, adjusters).tolist(), strict=True)),
        inside_after=dict(zip(names, made.inside[0].tolist(), strict=True)),
        aims=found,
        costs=costs,
        learned=learned,
        adjusters=adjusters,
    )


def _spreads(names: Sequence[str], middle: Any, sd: Any) -> dict[str, Spread]:
    return {
        name: Spread(float(m), low=max(float(m - 2 * s), 0.0), high=float(m + 2 * s), sd=float(s))
        for name, m, s in zip(names, middle, sd, strict=True)
    }
