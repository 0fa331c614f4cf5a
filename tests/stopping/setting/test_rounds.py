"""Setting pawl by pawl: simulated yards come to an end inside the window, whatever is read."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest

from tripmargin.machine import Machine, load_machine
from tripmargin.stopping import pawl_steps
from tripmargin.stopping.setting import Steps, adjusters_of
from tripmargin.stopping.setting.rounds import Known, Round, going_on, known_gaps, net_turns


class Bench:
    """One machine on which a turn, a clamp and a feeler do what they do, and not what is believed.

    Leverage 10 % off the file's middle, tightening and coupling drawn between its limits, the
    feeler's step and a hand's feel of 0.03 mm: common practice, no source.
    """

    def __init__(self, machine: Machine, seed: int) -> None:
        self.rng = np.random.default_rng(seed)
        self.each = {one.pawl: one for one in adjusters_of(machine).pawls}
        self.gap = {pawl: float(self.rng.uniform(0.0008, 0.0075)) for pawl in self.each}
        self.leverage = self.rng.uniform(0.9, 1.1)

    def read(self, pawl: str) -> float:
        felt = self.gap[pawl] + self.rng.normal(0, 0.03e-3)
        return max(float(np.round(felt / 5e-5)) * 5e-5, 5e-5)

    def move(self, pawl: str, own: float) -> None:
        one = self.each[pawl]
        own += one.shift.mean + self.rng.normal(0, one.shift_scatter)
        share = one.coupling.mean + self.rng.normal(0, one.coupling.sd / 2)
        for name in self.gap:
            part = own if name == pawl else share * own
            self.gap[name] = max(self.gap[name] + part, 2e-5)

    def turn(self, pawl: str, turns: float) -> None:
        one = self.each[pawl]
        self.move(pawl, turns * one.pitch * one.leverage.mean * self.leverage)

    def place(self, pawl: str, blade: float) -> None:
        self.gap[pawl] = blade + self.rng.uniform(-1, 1) * 0.1e-3
        self.move(pawl, 0.0)


def worked(machine: Machine, bench: Bench) -> tuple[dict[str, Known], list[Round]]:
    """Go on until nothing is to be done."""

    def plan(gaps: Mapping[str, float]) -> Steps:
        return pawl_steps(machine, gaps=gaps)

    readings = {pawl: bench.read(pawl) for pawl in bench.gap}
    rounds: list[Round] = []
    for _ in range(12):
        work = going_on(plan, readings, rounds).work
        if work.do == "done":
            return known_gaps(adjusters_of(machine), readings, rounds), rounds
        turns, placed = work.turns, work.do == "place"
        if work.do == "turn":
            assert turns is not None
            bench.turn(work.pawl, turns)
        elif placed:
            gap = work.steps[0].gap
            assert gap is not None
            bench.place(work.pawl, gap)
        rounds.append(Round(work.pawl, bench.read(work.pawl), turns, placed))
    raise AssertionError("there is no end to it")


@pytest.mark.parametrize("name", ["dunlin", "curlew", "whimbrel", "sanderling"])
def test_simulated_yards_end_inside_the_window(name: str) -> None:
    machine = load_machine(name)
    low, high = machine.limits.clearance.low, machine.limits.clearance.high
    steps = []
    for seed in range(40):
        bench = Bench(machine, seed)
        known, rounds = worked(machine, bench)
        assert all(one.fresh for one in known.values())
        # True gaps, which nobody in the yard knows; a reading may hide half a step of the feeler.
        assert all(low - 5e-5 < gap < high + 5e-5 for gap in bench.gap.values()), (seed, bench.gap)
        steps.append(len(rounds))
    assert np.mean(steps) <= 1.5 * len(bench.gap) + 1


def test_turns_add_up_with_their_sign() -> None:
    rounds = [Round("lower", 0.004, -2.0), Round("upper", 0.003, placed=True),
              Round("lower", 0.0035, 0.5)]  # fmt: skip
    assert net_turns(rounds) == {"lower": -1.5}
