"""A setting drill: pawls with hidden gaps, set by feel, against the planner's own play."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from tripmargin.drills import moves as m
from tripmargin.drills.moves import Move
from tripmargin.drills.refusals import DrillError
from tripmargin.drills.results import DrillResult, mark_of
from tripmargin.drills.scoring import MENDED, NOT_MENDED, Part, Score, score_of
from tripmargin.drills.setting_play import SettingPlay, asked
from tripmargin.drills.told import Told, told
from tripmargin.drills.virtual_pawls import VirtualPawls
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say
from tripmargin.ground.units import INCH, percent
from tripmargin.machine import Machine
from tripmargin.stopping.pawl_words import pawl_words
from tripmargin.stopping.setting import SettingError, Steps, adjusters_of, inside, pawl_steps
from tripmargin.stopping.setting.step_words import gap_words

SETTING = "setting"
THOUSANDTH = INCH / 1000  # m
MOST_DRAWS, MOST_WORKS = 20, 40
LEAST_LEFT = 0.05
"""Of the points, where the gaps are inside today and surely drift out: set, but not well."""


@dataclass(slots=True)
class SettingDrill:
    """One setting drill, from gaps that nobody has measured to the score.

    Attributes
    ----------
    machine : Machine
    seed : int
    play : SettingPlay
        The learner's.
    best : SettingPlay
        The planner's own, at its end.
    us : bool
        Whether the blades go by thousandths of an inch.
    """

    machine: Machine
    seed: int
    play: SettingPlay
    best: SettingPlay
    us: bool = False

    @property
    def ended(self) -> bool:
        """Whether it was declared set."""
        return self.play.ended

    def move(self, do: str, what: str = "") -> Move:
        """Make a move; see `SettingPlay.make`."""
        return self.play.make(do, what)

    def score(self) -> Score:
        """The score, once the drill has ended.

        Raises
        ------
        DrillError
            If it has not.
        """
        if not self.ended:
            raise DrillError(
                say("drill"), say("not ended"), say("half a drill has no score"),
                say("a drill that was declared set"),
            )  # fmt: skip
        return _scored(self.play, self.best)

    def best_score(self) -> Score:
        """What the planner's own play scores, counted in the same way."""
        return _scored(self.best, self.best)

    def result(self, *, when: datetime, name: str = "") -> DrillResult:
        """What is kept of a drill that has ended."""
        return DrillResult(
            machine=self.machine.name,
            machine_mark=mark_of(self.machine),
            seed=self.seed,
            complaint="",
            fault=SETTING,
            said=_gaps_told(self.play.pawls.gaps, self.us),
            kind=SETTING,
            moves=tuple(self.play.moves),
            best=tuple(self.best.moves),
            score=self.score(),
            when=when.isoformat(timespec="seconds"),
            name=name,
            us=self.us,
        )


def setting_drill(machine: Machine, *, seed: int, us: bool = False) -> SettingDrill:
    """Hide true gaps in a machine's pawls, and how its adjusters really work.

    Parameters
    ----------
    machine : Machine
    seed : int
        From 0. The same seed gives the same pawls, and the same readings for the same moves.
    us : bool
        Feelers in inches: their step is the file's to the nearest thousandth of an inch.

    Raises
    ------
    NotKnownError
        If the machine file has no pawls.
    DrillError
        If the seed is below 0.

    Notes
    -----
    Leverage, tightening and coupling are drawn between the file's limits, the readings by the
    feeler's step and a hand's feel. The best route is the planner's own (`stopping.setting`), which
    knows the limits only. It is drawn anew where the planner would leave a gap outside the window,
    or likely to drift out of it within a season.
    """
    if seed < 0:
        raise DrillError(say("seed"), str(seed), say("below 0"), say("a whole number from 0"))
    adjusters = adjusters_of(machine)
    if us:
        adjusters = replace(adjusters, feeler_step=inch_step(adjusters.feeler_step))

    def plan_for(gaps: Mapping[str, float]) -> Steps:
        return pawl_steps(machine, gaps=gaps, feeler_step=adjusters.feeler_step)

    for draw in range(MOST_DRAWS):
        best = _planned(VirtualPawls(adjusters, seed, draw), plan_for, us)
        if best.ended and best.mended and stays_inside(best.pawls) > 0.5:
            fresh = SettingPlay(VirtualPawls(adjusters, seed, draw), plan_for, us)
            return SettingDrill(machine, seed, fresh, best, us)
    raise TripmarginError(
        say(
            "{machine}: no setting drill can be set: the planner leaves a gap outside the window in"
            " each of {count} settings.\n  Is limits.clearance too narrow for the feeler?",
            machine=machine.name, count=MOST_DRAWS,
        )
    )  # fmt: skip


def inch_step(step: float) -> float:
    """The step of feelers in inches that comes nearest: whole thousandths, m.

    >>> round(inch_step(0.05e-3) / 25.4e-6, 9), round(inch_step(0.01e-3) / 25.4e-6, 9)
    (2.0, 1.0)
    """
    return max(round(step / THOUSANDTH), 1) * THOUSANDTH


def _planned(
    pawls: VirtualPawls, plan_for: Callable[[Mapping[str, float]], Steps], us: bool
) -> SettingPlay:
    """The planner's play."""
    play = SettingPlay(pawls, plan_for, us)
    play.make(m.SECURE)
    for _ in range(MOST_WORKS):
        try:
            work = play.next_work()
        except SettingError:  # a gap that came out beyond all planning
            return play
        if work.do == "done":
            play.make(m.DECLARE)
            return play
        play.make(work.do, asked(work))
    return play


def _scored(play: SettingPlay, best: SettingPlay) -> Score:
    good = play.mended
    outside = told(lambda: say("It was declared set, and a true gap is outside."))
    begun = Part("not set", NOT_MENDED, outside)
    if good:
        mine, theirs = (stays_inside(each.pawls) for each in (play, best))
        leaves = min(max(mine / theirs, LEAST_LEFT), 1.0)
        why = told(
            lambda: say(
                "Every true gap is inside the window. The chance that none drifts out of it in a"
                " season is {mine}; by the best route {best}.",
                mine=percent(mine), best=percent(theirs),
            )
        )  # fmt: skip
        begun = Part("set", MENDED * leaves, why)
    return score_of(play.moves, mended=good, best_minutes=best.minutes, begun=begun)


def _gaps_told(gaps: Mapping[str, float], us: bool) -> Told:
    """The true gaps as they are now."""
    now = dict(gaps)

    def saying() -> str:
        each = (
            say("{pawl} {gap}", pawl=pawl_words(pawl), gap=gap_words(gap, us))
            for pawl, gap in now.items()
        )
        return say("the true gaps, at the end {gaps}", gaps=", ".join(each))

    return told(saying)


def stays_inside(pawls: VirtualPawls) -> float:
    """Chance that the true gaps are inside the window and stay so for a season's drift."""
    gaps = [pawls.gaps[name] for name in pawls.adjusters.names]
    return float(inside(gaps, np.zeros(len(gaps)), pawls.adjusters).prod())
