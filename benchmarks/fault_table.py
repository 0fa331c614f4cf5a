"""The fault table of a machine, against an outside circuit simulator run for the same voltages.

The peer is ngspice, one run for each fault and step. It is given for nothing what it cannot find:
which contacts are closed and which fuses are gone when the circuit has come to rest. A tool built
on it would look several times in each step, as relays, module and plunger follow one another, but
could keep what it has seen: one run for each different state is the second ratio. Only a part of
its runs is made, drawn at random, and the time is scaled up.
"""

from __future__ import annotations

import random
import shutil
import sys
import tempfile
from pathlib import Path

from common.turns import in_turn, median, say, spoken, where

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from tests.circuit.plover_circuit import plover
from tests.circuit.spice import node_voltages
from tripmargin.circuit import fault_modes, fault_table, operate, with_faults
from tripmargin.circuit.running import Runner, run_together

RUNS = 60
"""Runs of the simulator in each round."""

FAULTS = 50


def main() -> None:
    program = shutil.which("ngspice")
    if program is None:
        raise SystemExit("ngspice is not installed: no ratio.")
    network = plover()
    chance = random.Random(3)
    faults = chance.sample([mode.fault for mode in fault_modes(network)], FAULTS)
    cells = [
        (fault, step, state)
        for fault in faults
        for step, state in zip(network.steps, operate(network, faults=[fault]), strict=True)
    ]
    drawn = [
        (with_faults(network, (fault,)), step, state)
        for fault, step, state in chance.sample(cells, RUNS)
    ]
    worst = 0.0
    with tempfile.TemporaryDirectory() as folder:

        def simulate() -> None:
            nonlocal worst
            for faulty, step, state in drawn:
                volts = step.volts + faulty.volts_offset
                theirs = node_voltages(
                    program, Path(folder), faulty, state.closed, state.fuses_blown, volts
                )
                off = max(abs(theirs[node] - state.voltages[node]) for node in theirs)
                worst = max(worst, off)

        def ours() -> None:
            fault_table(network, None, faults)

        ours()
        print(f"Fault table, {FAULTS} faults x {len(network.steps)} steps; {where()}")
        theirs, own = in_turn(simulate, ours, rounds=9, patience=20)
    if worst > 1e-3:
        raise SystemExit(f"Voltages differ by {worst:.2g} V: no ratio.")
    one_run, table = median(theirs) / RUNS, median(own)
    looks = looks_needed(network, faults)
    for what, runs, target in (
        ("one simulator run for each fault and step", len(cells), "at least 100"),
        ("one for each different state on the way", looks, "none"),
    ):
        say(
            f"{what[0].upper()}{what[1:]}, over the whole table",
            runs * one_run / table,
            target,
            f"{runs} runs of {spoken(one_run)} against {spoken(table)}; medians of {len(own)};"
            f" voltages of {RUNS} drawn cells agree within {worst * 1e3:.2g} mV",
        )


def looks_needed(network, faults) -> int:
    """Different states that the table looks at, over all faults."""
    runners = [Runner(with_faults(network, (fault,))) for fault in faults]
    run_together(runners, network.steps)
    return sum(len(runner.rules.grid.looks) for runner in runners)


if __name__ == "__main__":
    main()
