"""Setting the pawls, with what it does to stop time, margin and verdict at each cut."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import later, say
from tripmargin.ground.quantities import Quantity
from tripmargin.ground.results import plain
from tripmargin.machine import Machine
from tripmargin.protection.proving import missing, stop_alone
from tripmargin.protection.setting.better import better_verdict
from tripmargin.protection.setting.seen_race import SeenRace
from tripmargin.protection.sights import Progress
from tripmargin.protection.stops import Stops
from tripmargin.protection.verdicts import CutVerdict
from tripmargin.sensing.pieces import Piece
from tripmargin.stopping.setting import (
    Steps,
    adjusters_of,
    normal_gap,
    pawl_steps,
    quick_densities,
    readings_of,
    with_gaps,
)
from tripmargin.stopping.setting.in_time import cuts_of

VerdictOf = Callable[[Mapping[str, Quantity], float], CutVerdict]
"""Gaps by pawl and a cut length, m, to the verdict there."""
QUICK = later("Chances are within 0.01 of a proof's; `tripmargin prove` gives the exact ones.")
QUICK_SHORT = later("Chances are within 0.01 of a proof's.")
"""Without the command, for where nobody types one."""


@dataclass(frozen=True, slots=True, eq=False)
class Effect:
    """One cut with the gaps as measured, as they will be, and as they would be at the aim.

    Attributes
    ----------
    before, at_aim : CutVerdict
        Each with its stop time, travel and margin, and their limits.
    after : CutVerdict or None
        None where everything is left as it is.
    """

    cut_length: float
    before: CutVerdict
    after: CutVerdict | None
    at_aim: CutVerdict

    @property
    def aim_is_better(self) -> bool:
        """Whether the verdict at the aim is a better one than after the steps."""
        return better_verdict(self.after or self.before, self.at_aim)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        made: dict[str, Any] = plain(
            {
                "cut_length_m": self.cut_length,
                "before": self.before,
                "after": self.after,
                "at_aim": self.at_aim,
            }
        )
        return made


@dataclass(frozen=True, slots=True, eq=False)
class PawlSetting:
    """What to do with the pawls, and what it brings.

    Attributes
    ----------
    steps : Steps
    effects : tuple of Effect
        One a cut; empty where nothing is known of the race.
    piece : str
        That the verdicts are about.
    needs : tuple of str
        Fields that are missing for what is not known.
    """

    steps: Steps
    effects: tuple[Effect, ...]
    piece: str
    needs: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        made: dict[str, Any] = self.steps.to_dict() | plain(
            {
                "piece": self.piece,
                "effects": self.effects,
                "needs": self.needs,
                "quick": say(QUICK),
            }
        )
        return made


def set_pawls(
    machine: Machine,
    *,
    lower_gap: float | None = None,
    upper_gap: float | None = None,
    gaps: Mapping[str, float] | None = None,
    cut_lengths: Sequence[float] | None = None,
    feeler_step: float | None = None,
    history: Iterable[Any] = (),
    best: bool = False,
    progress: Progress | None = None,
    race: SeenRace | None = None,
) -> PawlSetting:
    """The fewest wrench moves, aimed by the race that the sensor starts, and their effect.

    Parameters
    ----------
    machine, lower_gap, upper_gap, gaps, cut_lengths, feeler_step, history, best
        As for `stopping.pawl_steps`.
    progress : callable, optional
        Told the share done, 0 to 1.
    race : SeenRace, optional
        Of this machine at these cuts, for whoever asks again after each reading.

    Raises
    ------
    NotKnownError, SettingError, ValueError
        As `stopping.pawl_steps`.

    Notes
    -----
    The race is that of the must-stop piece over places and heights evenly spread, given that it is
    seen; where the sensor is not known, that of metal which trips above the sensor's axis.
    """
    adjusters = adjusters_of(machine, feeler_step=feeler_step)
    readings = readings_of(adjusters, lower_gap=lower_gap, upper_gap=upper_gap, gaps=gaps)
    cuts = cuts_of(machine, cut_lengths)
    race = race or race_of(machine, cuts, progress)
    steps = pawl_steps(
        machine,
        gaps=readings,
        cut_lengths=cuts,
        feeler_step=feeler_step,
        history=history,
        best=best,
        in_time=race.in_time if race is not None else None,
    )
    return PawlSetting(
        steps=steps,
        effects=_effects(machine, race, cuts, _states(steps)),
        piece=machine.limits.must_stop,
        needs=missing(machine) if race is None else (),
    )


def race_of(
    machine: Machine, cuts: tuple[float, ...], progress: Progress | None = None
) -> SeenRace | None:
    """The race as the sensor starts it; None where that is not known, or no cut is on offer."""
    if not cuts:
        return None
    try:
        return SeenRace(machine, cuts, progress)
    except NotKnownError:
        return None


@dataclass(frozen=True, slots=True)
class _States:
    """Gaps as measured, as set by the steps (None: left), and as set to the aim."""

    before: dict[str, Quantity]
    after: dict[str, Quantity] | None
    at_aim: dict[str, Quantity]


def _states(steps: Steps) -> _States:
    each = steps.adjusters
    sd = dict(zip(each.names, each.set_sd().tolist(), strict=True))
    # What is not touched is known as well as before, but for what it was taken along by.
    after = {
        name: normal_gap(float(gap), min(sd[name], gap.sd or sd[name]))
        for name, gap in steps.gaps_after.items()
    }
    return _States(
        {name: normal_gap(gap, each.reading_sd) for name, gap in steps.readings.items()},
        None if steps.leave else after,
        {aim.pawl: normal_gap(aim.gap, sd[aim.pawl]) for aim in steps.aims.pawls},
    )


def _effects(
    machine: Machine, race: SeenRace | None, cuts: tuple[float, ...], states: _States
) -> tuple[Effect, ...]:
    judge = judge_of(machine, race)
    try:
        return tuple(
            Effect(
                cut,
                judge(states.before, cut),
                None if states.after is None else judge(states.after, cut),
                judge(states.at_aim, cut),
            )
            for cut in cuts
        )
    except NotKnownError:
        return ()


def judge_of(machine: Machine, race: SeenRace | None) -> VerdictOf:
    """What says the verdict for any gaps at a cut: by the race, or by the stop alone.

    Parameters
    ----------
    machine : Machine
    race : SeenRace or None
        Of this machine; None where that is not known, see `race_of`.

    Returns
    -------
    callable
        Gaps by pawl, m, each with its doubt, and a cut length, m, to a CutVerdict. It raises
        NotKnownError where the machine file lacks what the stop needs.
    """
    return race.verdict if race is not None else _stop_alone(machine)


def _stop_alone(machine: Machine) -> VerdictOf:
    """What can be said of a cut without the sensor."""
    piece = Piece.from_text(machine.limits.must_stop)

    @lru_cache(maxsize=4)
    def stops(gaps: tuple[tuple[str, Quantity], ...]) -> Stops:
        set_so = with_gaps(machine, dict(gaps))
        return Stops(set_so, quick_densities(set_so))

    def judge(gaps: Mapping[str, Quantity], cut: float) -> CutVerdict:
        return stop_alone(stops(tuple(gaps.items())), cut, piece, fine=False)

    return judge
