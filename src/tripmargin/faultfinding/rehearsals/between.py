"""Rehearsals with faults that the cards do not know: each at a strength between the listed ones."""

from __future__ import annotations

import numpy as np

from tripmargin.circuit import network_from_machine
from tripmargin.faultfinding.rehearsals.rehearsing import Rehearsal, Rehearser
from tripmargin.faultfinding.suspects.causes import causes_of
from tripmargin.faultfinding.suspects.complaints import complaints_by
from tripmargin.faultfinding.suspects.machine_problem import MachineProblem, machine_problem
from tripmargin.faultfinding.suspects.strengths import drawn_strengths


def play_between(of: MachineProblem, seed: int) -> list[Rehearsal]:
    """One case for each fault that has strengths, at a strength drawn between them.

    What the machine shows is worked out from the circuit with that very fault in it. Faults that no
    operator would notice are left out. `of` is what the cards think of.

    Returns
    -------
    list of Rehearsal
    """
    rng = np.random.default_rng(seed)
    network = network_from_machine(of.machine)
    strange = drawn_strengths(causes_of(of.machine, network), network, rng)
    truth = machine_problem(of.machine, strange)
    told = complaints_by(truth.shown, truth.hypotheses)[:, :-1]
    noticed = np.asarray(told.any(axis=1))
    names = {each.id for each in strange}
    rows = [k for k, each in enumerate(truth.hypotheses) if each.id in names and noticed[k]]
    rehearser = Rehearser(of, truth=truth)
    return [rehearser.play(row, np.random.default_rng([seed, row])) for row in rows]
