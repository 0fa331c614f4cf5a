"""What an operator says of each fault, by reasoning from what the machine then does."""

import numpy as np
import pytest

from tests.faultfinding.problems import number, problem_of
from tripmargin.faultfinding.suspects.complaints import (
    COMPLAINTS,
    TOLD_WRONG,
    complaint_chances,
    complaints_by,
)
from tripmargin.faultfinding.suspects.hypotheses import NOTHING, SOMETHING_ELSE
from tripmargin.machine import demo_machines

machines = pytest.mark.parametrize("name", demo_machines())
UNSEEN = {"metal went through", "check does not stop it"}


def said(name, fault):
    """The complaints that a fault gives rise to."""
    problem = problem_of(name)
    flags = complaints_by(problem.shown, problem.hypotheses)[number(problem, fault)]
    return {word for word, flag in zip(COMPLAINTS, flags, strict=True) if flag}


@pytest.mark.parametrize(
    ("name", "fault", "expected"),
    [
        # no supply at all: no lamp, no relay, no feed
        ("dunlin", "F1:open", {"dead"}),
        ("curlew", "key:never", {"dead"}),
        # the solenoid gets nothing, the lamps work
        ("dunlin", "W8:open", {"feed stays stopped"}),
        ("sanderling", "reset:never", {"feed stays stopped"}),
        # the reverse clutch alone is dead
        ("curlew", "W10:open", {"will not reverse"}),
        # its valve's coil is fed by the contact that also resets: both by the bar
        ("sanderling", "VR.winding:open", {"will not reverse"}),
        # this module does not watch its lead: metal is not seen, nor is the check winding
        ("dunlin", "W5:open", UNSEEN),
        # these modules do watch it, and stay tripped
        ("whimbrel", "W5:open", {"feed stays stopped"}),
        ("curlew", "S:open", {"feed stays stopped"}),
        # the check alone is dead: metal still stops the feed
        ("dunlin", "T:open", {"check does not stop it"}),
        ("sanderling", "R1:open", {"check does not stop it"}),
        # seen, but too late
        ("curlew", "clearance_wide", {"metal went through"}),
        ("whimbrel", "S:magnets weak", {"metal went through"}),
        # nothing lets the solenoid go
        ("curlew", "W8:touches 30", {"metal went through", "check does not stop it"}),
        ("dunlin", "roll:magnetised", {"stops on nothing"}),
        ("curlew", "D:noisy", {"stops on nothing"}),
        ("whimbrel", "W8:open at times", {"feed stays stopped", "stops on nothing"}),
        ("sanderling", "trip latched:open", {"lamp or buzzer wrong"}),
        ("curlew", "W9:touches W10", {"lamp or buzzer wrong"}),
        # nobody measures a battery that still starts the machine
        ("sanderling", "battery:weak", {"nothing noticed"}),
    ],
)
def test_a_fault_makes_people_say_what_they_must_have_seen(name, fault, expected):
    assert said(name, fault) == expected


@machines
def test_a_complaint_is_one_of_those_that_fit_but_for_what_is_told_wrong(name):
    problem = problem_of(name)
    chances = complaint_chances(problem.shown, problem.hypotheses)
    assert chances.shape == (len(problem.hypotheses), len(COMPLAINTS))
    assert np.allclose(chances.sum(axis=1), 1)
    flags = complaints_by(problem.shown, problem.hypotheses)
    fits = (chances * flags).sum(axis=1)[:-2]
    wrong = TOLD_WRONG * (1 - flags.sum(axis=1)[:-2] / len(COMPLAINTS))
    assert np.allclose(fits, 1 - wrong)


@machines
def test_nothing_and_something_else_favour_no_complaint(name):
    problem = problem_of(name)
    chances = complaint_chances(problem.shown, problem.hypotheses)
    for row in (number(problem, NOTHING), number(problem, SOMETHING_ELSE)):
        assert np.allclose(chances[row], 1 / len(COMPLAINTS))


@machines
def test_every_listed_fault_gives_rise_to_some_complaint(name):
    problem = problem_of(name)
    flags = complaints_by(problem.shown, problem.hypotheses)
    assert flags[:-2].any(axis=1).all()
    assert not (flags[:, -1] & flags[:, :-1].any(axis=1)).any()  # noticed, or not


@machines
def test_the_first_question_of_a_problem_is_what_people_say(name):
    problem = problem_of(name).problem
    assert problem.checks[0].outcomes == tuple(COMPLAINTS)
    first = problem.likelihood[:, : len(COMPLAINTS)]
    assert np.allclose(first.sum(axis=1), 1)
