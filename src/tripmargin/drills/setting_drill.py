"""A setting drill: pawls with hidden gaps, set by feel, against the planner's own play."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from tripmargin.drills import moves as m
from tripmargin.drills.moves import Move
from tripmargin.drills.refusals import DrillError
from tripmargin.drills.results import DrillResult, mark_of
from tripmargin.drills.scoring import MENDED, NOT_MENDED, Part, Score, score_of
from tripmargin.drills.setting_play import SettingPlay, asked
from tripmargin.drills.virtual_pawls import VirtualPawls
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.units import percent
from tripmargin.machine import Machine
from tripmargin.stopping.setting import SettingError, Steps, adjusters_of, inside, pawl_steps
from tripmargin.stopping.setting.step_words import gap_words

SETTING = "setting"
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
    """

    machine: Machine
    seed: int
    play: SettingPlay
    best: SettingPlay

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
                "drill", "not ended", "half a drill has no score", "a drill that was declared set"
            )
        return _scored(self.play, self.best)

    def best_score(self) -> Score:
        """What the planner's own play scores, counted in the same way."""
        return _scored(self.best, self.best)

    def result(self, *, when: datetime, name: str = "") -> DrillResult:
        """What is kept of a drill that has ended."""
        gaps = (f"{pawl} {gap_words(gap)}" for pawl, gap in self.play.pawls.gaps.items())
        return DrillResult(
            machine=self.machine.name,
            machine_mark=mark_of(self.machine),
            seed=self.seed,
            complaint="",
            fault=SETTING,
            said=f"the true gaps, at the end {', '.join(gaps)}",
            kind=SETTING,
            moves=tuple(self.play.moves),
            best=tuple(self.best.moves),
            score=self.score(),
            when=when.isoformat(timespec="seconds"),
            name=name,
        )


def setting_drill(machine: Machine, *, seed: int) -> SettingDrill:
    """Hide true gaps in a machine's pawls, and how its adjusters really work.

    Parameters
    ----------
    machine : Machine
    seed : int
        From 0. The same seed gives the same pawls, and the same readings for the same moves.

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
        raise DrillError("seed", str(seed), "below 0", "a whole number from 0")
    adjusters = adjusters_of(machine)

    def plan_for(gaps: Mapping[str, float]) -> Steps:
        return pawl_steps(machine, gaps=gaps)

    for draw in range(MOST_DRAWS):
        best = _planned(VirtualPawls(adjusters, seed, draw), plan_for)
        if best.ended and best.mended and stays_inside(best.pawls) > 0.5:
            fresh = SettingPlay(VirtualPawls(adjusters, seed, draw), plan_for)
            return SettingDrill(machine, seed, fresh, best)
    raise TripmarginError(
        f"{machine.name}: no setting drill can be set: the planner leaves a gap outside the window"
        f" in each of {MOST_DRAWS} settings.\n  Is limits.clearance too narrow for the feeler?"
    )


def _planned(pawls: VirtualPawls, plan_for: Callable[[Mapping[str, float]], Steps]) -> SettingPlay:
    """The planner's play."""
    play = SettingPlay(pawls, plan_for)
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
    begun = Part("not set", NOT_MENDED, "It was declared set, and a true gap is outside.")
    if good:
        mine, theirs = (stays_inside(each.pawls) for each in (play, best))
        leaves = min(max(mine / theirs, LEAST_LEFT), 1.0)
        why = (
            "Every true gap is inside the window. The chance that none drifts out of it in a season"
            f" is {percent(mine)}; by the best route {percent(theirs)}."
        )
        begun = Part("set", MENDED * leaves, why)
    return score_of(play.moves, mended=good, best_minutes=best.minutes, begun=begun)


def stays_inside(pawls: VirtualPawls) -> float:
    """Chance that the true gaps are inside the window and stay so for a season's drift."""
    gaps = [pawls.gaps[name] for name in pawls.adjusters.names]
    return float(inside(gaps, np.zeros(len(gaps)), pawls.adjusters).prod())
