"""Machines broken behind the page's back: what the cards expect is what the machine then shows.

A person is played who knows the circuit and the cards' words only: one fault is put into the
wiring, the steps of a card's state are gone through, and what is seen or read is compared with the
word that the problem has for this fault. A meter sits only where the person holds its probes.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.faultfinding.problems import found, problem_of
from tripmargin.circuit import (
    HEARD,
    STOPS,
    fault_modes,
    fault_table,
    network_from_machine,
    operate,
)
from tripmargin.faultfinding import Case
from tripmargin.faultfinding.suspects.hypotheses import Hypothesis
from tripmargin.faultfinding.suspects.looks import Question
from tripmargin.faultfinding.suspects.machine_problem import MachineProblem
from tripmargin.machine import demo_machines, load_machine

FAULTS, LOOKS = 8, 12  # of every machine, drawn: each look is another run through the steps


def probes(of: MachineProblem, question: Question) -> tuple[str, str]:
    """The two nodes that a volts card sends the meter to."""
    listed = {f"{each.state}: {each.name}": each.between for each in of.checks.looks}
    if question.id in listed:
        red, black = listed[question.id]
        return red, black
    points = {f"volts at {point.name}": point.node for point in of.shown.points}
    return points[question.subject], "0"


def seen(of: MachineProblem, question: Question, hypothesis: Hypothesis) -> str:
    """What a person sees or reads on the machine with a hypothesis's faults in it."""
    network = network_from_machine(of.machine)
    meters = set(probes(of, question)) - {"0"} if question.kind == "volts" else ()
    steps = next(each.steps for each in of.states if each.name == question.state)
    worked = of.checks.worked
    state = operate(network, steps, hypothesis.faults, before=worked, meters=meters)[-1]
    if question.kind == "volts":
        assert question.bands is not None
        return question.bands.word(state.across(*probes(of, question)))
    shows = state.lamps.get(question.subject) or str(getattr(state, question.subject))
    return HEARD[shows] if question.kind == "buzzer" else shows


@pytest.mark.parametrize("name", demo_machines())
def test_a_fault_shows_what_its_cards_expect(name):
    of, rng = problem_of(name), np.random.default_rng(3)
    single = [
        k for k, each in enumerate(of.hypotheses) if len(each.faults) == len(each.causes) == 1
    ]
    looks = [
        each for each in of.looks if each.question.kind in ("lamp", "buzzer", "movement", "volts")
    ]
    for row in rng.choice(single, FAULTS, replace=False):
        for k in rng.choice(len(looks), LOOKS, replace=False):
            question = looks[k].question
            expected = question.words[looks[k].answers[row]]
            assert seen(of, question, of.hypotheses[row]) == expected, (
                of.hypotheses[row].id,
                question.id,
            )


@pytest.mark.parametrize(
    ("name", "fault", "look"),
    [
        ("dunlin", "D.in.reset:open", "box armed: volts at TP2"),
        ("dunlin", "D.in.lock:open", "shift held in reverse: volts at TP3"),
        ("curlew", "D.in.reset:open", "solenoid held: relay's coil"),
        ("whimbrel", "D.in.lock:open", "held: hold relay's output"),
    ],
)
def test_a_meter_elsewhere_does_not_hold_an_input_down(name, fault, look):
    # An input that hangs in the air goes by what touches it. With one meter at every point at once
    # these faults read like a sound machine, or like another fault.
    of = problem_of(name)
    hypothesis = next(each for each in of.hypotheses if each.id == fault)
    assert seen(of, of.questions[look], hypothesis) == found(of, fault)[look]


@pytest.mark.parametrize("name", demo_machines())
def test_a_fault_table_says_how_a_stop_went_in_whole_words(name):
    network = network_from_machine(load_machine(name))
    faults = [mode.fault for mode in fault_modes(network) if mode.fault.behaviour]
    table = fault_table(network, faults=faults)
    stops = table.words[:, :, table.columns.index("stop")]
    assert set(np.unique(stops)) <= {*STOPS, ""}


@pytest.mark.parametrize(
    ("name", "look"),
    [("curlew", "feed forwards: test piece"), ("sanderling", "rolls in forward: test piece")],
)
@pytest.mark.parametrize("fault", ["plunger_stuck:in", "pawl_spring_broken"])
def test_rolls_that_coast_to_a_stop_count_as_stopped(name, look, fault):
    # The clutch lets go, the pawls stay out: who watches sees rolls that turned, then stop.
    assert found(problem_of(name), fault)[look] == "the rolls stop"


def test_an_ohmmeter_that_shows_overload_can_be_recorded_as_it_is():
    of = problem_of("dunlin")
    look = of.questions["standing: check winding"]
    case = Case(of, complaint="check does not stop it")
    case.record(look.id, float("inf"))
    assert case.entries[-1]["word"] in look.words
    assert case.entries[-1]["word"].endswith("or overload")
