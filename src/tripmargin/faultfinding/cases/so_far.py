"""What was done in a case: each entry with what it ruled out and the minutes that it took."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from itertools import pairwise
from typing import Any

from tripmargin.faultfinding.cases.cards import PASSED
from tripmargin.faultfinding.cases.case import Case
from tripmargin.faultfinding.cases.case_lines import Entry
from tripmargin.faultfinding.cases.telling import ruled_out, still_left, would_show
from tripmargin.faultfinding.deciding.beliefs import Situation
from tripmargin.faultfinding.suspects.bands import ohms
from tripmargin.faultfinding.suspects.complaints import COMPLAINTS
from tripmargin.faultfinding.suspects.machine_problem import ASK, MachineProblem
from tripmargin.ground.languages import say
from tripmargin.ground.languages.own_words import as_written


@dataclass(frozen=True, slots=True)
class Done:
    """One entry of a case.

    `check` is the id of the look or the repair, `what` was done, in words, `found` is what came of
    it, `ruled_out` what a finding or a repair that did not help made unlikely, `left` what is still
    believed of each, `would_show` what each would have shown. `minutes` is what the plan counts:
    the way into the state, the work, the daily test after a repair; no price.
    """

    n: int
    at: str
    kind: str
    check: str
    what: str
    found: str
    ruled_out: tuple[str, ...]
    left: tuple[float, ...]
    would_show: tuple[str, ...]
    minutes: float

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready."""
        return asdict(self)


def done_so_far(case: Case) -> tuple[Done, ...]:
    """Everything that stands in a case, in order.

    Examples
    --------
    >>> from tripmargin.machine import load_machine
    >>> case = Case(load_machine("whimbrel"), complaint="will not reverse")
    >>> [(done.what, done.found, done.minutes) for done in done_so_far(case)]
    [('complaint', 'The rolls do not reverse.', 1.0)]
    """
    found = []
    for entry, (before, after) in zip(case.entries, pairwise(case.moments()), strict=True):
        pair = (case.of, before.situation, after.situation)
        check = str(entry.get("check", entry.get("repair", "")))
        gone, shown = ruled_out(*pair), would_show(*pair, check)
        left = still_left(*pair)
        if entry.get("word") == PASSED:  # mended or tried, not ruled out
            gone, left, shown = (), (), ()
        what, came = _words(case.of, entry)
        minutes = _minutes(case.of, entry, before.situation)
        when = str(entry.get("done_at", entry.at))  # a card's answers come in later
        done = Done(entry.n, when, entry.kind, check, what, came, gone, left, shown, minutes)
        found.append(done)
    return tuple(found)


def _words(of: MachineProblem, entry: Entry) -> tuple[str, str]:
    """What was done, and what came of it."""
    if entry.kind == "repair":
        return of.works[entry["repair"]].do, _test_words(entry)
    if entry.kind == "hand over":
        return say("handed over"), str(entry["why"])
    if entry["check"] == ASK:
        return say("complaint"), say(COMPLAINTS[entry["word"]])
    question = of.questions[entry["check"]]
    return f"{question.about} [{as_written(question.state)}]", found_words(of, entry)


def _test_words(entry: Entry) -> str:
    """What the daily test after a repair came to."""
    step = entry.get("failed_at")
    if entry["word"] == PASSED:
        return say("daily test passed")
    return say("daily test failed at step {step}", step=step) if step else say("daily test failed")


def found_words(of: MachineProblem, entry: Entry) -> str:
    """What a look showed: its word with what was noted, or its reading with the range."""
    question, reading = of.questions[entry["check"]], entry.get("reading")
    if reading is None or question.bands is None:
        note = entry.get("note")
        said = question.said(str(entry["word"]))
        return f"{said}: {note}" if note else said
    shown = ohms(reading)
    if question.bands.unit == "V":
        shown = say("{reading:.4g} V", reading=reading)
    return f"{shown} ({question.said(str(entry['word']))})"


def _minutes(of: MachineProblem, entry: Entry, before: Situation) -> float:
    problem = of.problem
    if entry.kind == "finding":
        check = problem.checks[problem.numbers[f"check:{entry['check']}"]]
        return float(problem.move[before.state, check.state]) + check.minutes
    if entry.kind == "repair":
        number = problem.numbers[f"repair:{entry['repair']}"] - len(problem.checks)
        in_parts = problem.repairs[number].minutes - of.works[entry["repair"]].minutes
        return float(problem.fix_minutes[before.state, number]) - in_parts
    return 0.0
