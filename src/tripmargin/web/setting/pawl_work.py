"""Where the work on the pawls stands: the gaps as known, what to do next, and what it brings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tripmargin.machine import Machine as LoadedMachine
from tripmargin.protection.setting import PawlSetting, set_pawls
from tripmargin.protection.setting.pawls import race_of
from tripmargin.records.keeping.machines import machine_of
from tripmargin.records.standing.past_settings import past_settings
from tripmargin.records.store.models import Machine, MachineVersion
from tripmargin.stopping.setting import Steps
from tripmargin.stopping.setting.in_time import cuts_of
from tripmargin.stopping.setting.rounds import Known, Round, Work, going_on
from tripmargin.web.setting.races import RACES


@dataclass(frozen=True, slots=True, eq=False)
class PawlWork:
    """The work after some rounds.

    Attributes
    ----------
    begun, now : PawlSetting
        From the gaps as they were found, and as they are known now.
    known : mapping of pawl to Known
    next : Work
    """

    begun: PawlSetting
    now: PawlSetting
    known: Mapping[str, Known]
    next: Work

    @property
    def steps(self) -> Steps:
        """The plan from now on."""
        return self.now.steps

    @property
    def outside(self) -> tuple[str, ...]:
        """Pawls whose gap is outside the window."""
        low, high = self.steps.adjusters.window
        return tuple(p for p, one in self.known.items() if not low <= one.gap <= high)


def pawl_work(
    machine: Machine,
    version: MachineVersion,
    readings: Mapping[str, float],
    rounds: tuple[Round, ...],
    *,
    feeler: float | None,
    best: bool,
) -> PawlWork:
    """The work after some rounds: three seconds for a version's first, a third of one after that.

    Raises
    ------
    SettingError, NotKnownError, ValueError
        As `set_pawls`.
    """
    loaded: LoadedMachine = machine_of(version)
    chain = loaded.chain
    history = past_settings(machine, [p.name for p in chain.pawls] if chain else [])
    made: dict[tuple[tuple[str, float], ...], PawlSetting] = {}

    with RACES.of(version.digest, lambda: race_of(loaded, cuts_of(loaded, None))) as race:

        def plan(gaps: Mapping[str, float]) -> Steps:
            found = set_pawls(
                loaded, gaps=gaps, feeler_step=feeler, history=history, best=best, race=race
            )
            made[tuple(gaps.items())] = found
            return found.steps

        progress = going_on(plan, readings, rounds)
    begun = made[tuple(readings.items())]
    now = next(one for one in made.values() if one.steps is progress.plan)
    return PawlWork(begun, now, progress.known, progress.work)
