"""Whole machines broken at random: what the cards waste against a fault sheet on paper.

Faults are drawn for each demo machine by their rates, pairs and faults that come and go among them;
the operator's complaint is told wrong one time in ten, looks go wrong as often as the machine file
says (3 %), and 'can't tell' comes too. Cost is minutes, prices counted as minutes, beyond what
somebody who knew the fault would spend. The peers are a fixed order of looks, best first, with
Bayes' rule to say when to stop, and the same sheet in the hands of somebody who passes over every
look that could tell nothing more; each stops at the level, of those tried, that wastes least.
"""

from __future__ import annotations

import resource
import sys
from dataclasses import dataclass
from time import perf_counter

import numpy as np
from common.turns import where

from tripmargin.faultfinding.rehearsals.paper_order import PaperOrder
from tripmargin.faultfinding.rehearsals.rehearsing import Choose, Rehearsal, Rehearser, drawn
from tripmargin.faultfinding.suspects.machine_problem import MachineProblem, machine_problem
from tripmargin.machine import demo_machines, load_machine

MACHINES, SEED = 60, 1
"""Broken machines of each demo machine, unless the command line says another number."""
LEVELS = (0.5, 0.7, 0.8, 0.9)
PART = 4
"""The peers play every so many of the machines, and their levels are tried on a third of these."""


@dataclass(frozen=True)
class Score:
    """What many cases came to."""

    wasted: float
    error: float
    mended: float
    wrong_module: float
    cards: float

    @classmethod
    def of(cls, cases: list[Rehearsal]) -> Score:
        wasted = np.array([case.minutes - case.known_minutes for case in cases])
        return cls(
            float(wasted.mean()),
            float(wasted.std() / len(cases) ** 0.5),
            float(np.mean([case.mended for case in cases])),
            float(np.mean([case.wrong_modules > 0 for case in cases])),
            float(np.mean([case.cards for case in cases])),
        )

    def row(self, machine: str, way: str) -> str:
        return (
            f"| {machine} | {way} | {self.wasted:.1f} +- {self.error:.1f} | {self.mended:.1%} |"
            f" {self.wrong_module:.1%} | {self.cards:.0f} |"
        )


def scored(of: MachineProblem, count: int, choose: Choose | None = None) -> Score:
    rehearser = Rehearser(of)
    faults = drawn(of, count, np.random.default_rng(SEED))
    return Score.of(
        [
            rehearser.play(int(fault), np.random.default_rng([SEED, case]), choose)
            for case, fault in enumerate(faults)
        ]
    )


def best_level(of: MachineProblem, count: int, passing_over: bool) -> float:
    """The level at which a sheet wastes least."""
    wasted = [scored(of, count, PaperOrder(of, level, passing_over)).wasted for level in LEVELS]
    return LEVELS[int(np.argmin(wasted))]


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else MACHINES
    print(where())
    machine = load_machine("whimbrel")
    began = perf_counter()
    machine_problem(machine)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"reading a machine: {perf_counter() - began:.1f} s, peak memory {peak:.0f} MB")
    print("| machine | way | minutes wasted | mended | wrong module | cards |")
    print("|---|---|---|---|---|---|")
    ratios = []
    for name in demo_machines():
        of = machine_problem(load_machine(name))
        ours = scored(of, count)
        print(ours.row(name, "cards"), flush=True)
        told = []
        some = max(count // PART, 15)
        for way, passing_over in (("fixed sheet", False), ("its keen reader", True)):
            level = best_level(of, max(some // 3, 15), passing_over)
            peer = scored(of, some, PaperOrder(of, level, passing_over))
            told.append(ours.wasted / peer.wasted)
            print(peer.row(name, f"{way}, sure at {level:.0%}"), flush=True)
        ratios.append((name, *told))
    for name, fixed, passing in ratios:
        print(
            f"{name}: wasted {fixed:.2f} of a fixed sheet's minutes, {passing:.2f} of the other's"
        )
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory of all this, four machines at hand: {peak:.0f} MB")


if __name__ == "__main__":
    main()
