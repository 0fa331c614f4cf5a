"""One question of "would it stop?": a piece, a place, a cut, a setting; and what the race says."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tripmargin.drills.would_it_stop_answers import Chances, region_of
from tripmargin.drills.would_it_stop_kinds import Better, kind_of
from tripmargin.drills.would_it_stop_races import Races, Situation
from tripmargin.machine import Machine
from tripmargin.protection import Race
from tripmargin.sensing import Piece

_BALL = 0.01  # m; a ball's signal goes with its volume, so one size serves all


@dataclass(frozen=True, slots=True, eq=False)
class Question:
    """A situation on one machine, and its answer.

    Attributes
    ----------
    machine : Machine
        With what is set otherwise.
    situation : Situation
    race : Race
        As `protection.race` has it.
    chances : tuple of 3 floats
        Missed, too late, protected; from the race.
    region : str
        What the protection map calls it, at the confidence that the machine's file asks for.
    kind : str
        What there is to learn from it: one of `KINDS`.
    better : Better or None
        What would have saved the knives.
    signal : float
        The signal's greatest value, in thresholds, with every input at its middle.
    as_ball : float, m
        The steel ball that gives the same signal at the same place: where it stands on the map.
    """

    machine: Machine
    situation: Situation
    race: Race
    chances: Chances
    region: str
    kind: str
    better: Better | None
    signal: float
    as_ball: float

    @property
    def on_map(self) -> tuple[float, float]:
        """Its place on the protection map of `machine`: cut length and ball diameter, m."""
        return self.situation.cut_length, self.as_ball

    def to_dict(self, *, answered: bool = True) -> dict[str, Any]:
        """JSON-ready, SI; without the answer where `answered` is false."""
        asked = self.situation.to_dict()
        if not answered:
            return asked
        missed, late, safe = self.chances
        margin = self.race.margin
        return asked | {
            "probability_missed": missed,
            "probability_too_late": late,
            "probability_protected": safe,
            "region": self.region,
            "kind": self.kind,
            "margin_m": None if margin is None else margin.to_dict(),
            "signal_thresholds": self.signal,
            "as_ball_m": self.as_ball,
        }


def question_of(races: Races, situation: Situation, run: Race) -> Question:
    """A situation as a question, from its race."""
    machine = races.set_machine(situation.settings)
    chances = chances_of(run)
    region = region_of(chances, machine.limits.confidence.nominal)
    kind, better = kind_of(races, situation, chances, region)
    one, ball = races.one_pass(situation), races.one_pass(situation, Piece.ball(_BALL))
    size = _BALL * (one.peak / ball.peak) ** (1 / 3)
    return Question(
        machine, situation, run, chances, region, kind, better, one.peak / one.threshold, size
    )


def chances_of(run: Race) -> Chances:
    """Missed, too late and protected of a race; they sum to 1."""
    missed = run.probability_missed
    return missed, run.probability_through - missed, 1 - run.probability_through
