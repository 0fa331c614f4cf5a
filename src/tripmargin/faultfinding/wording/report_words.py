"""What a case comes to, in words: complaint, repair, proof, minutes."""

from __future__ import annotations

from tripmargin.faultfinding.cases.case import CLOSED, Case
from tripmargin.faultfinding.cases.proving import doubt
from tripmargin.faultfinding.cases.so_far import Done
from tripmargin.faultfinding.deciding.reasons import percent
from tripmargin.faultfinding.suspects.machine_problem import ASK


def clock(at: str) -> str:
    """An ISO time as people write it.

    >>> clock("2026-05-04T07:30:00+02:00")
    '2026-05-04 07:30'
    """
    return at[:16].replace("T", " ")


def complaint(done: tuple[Done, ...]) -> str:
    """The complaint in a sentence."""
    return next((each.found for each in reversed(done) if each.what == ASK), "none was entered.")


def proof(case: Case) -> list[str]:
    """What was mended, and what proves it; and what the daily test leaves open."""
    repairs = [entry for entry in case.entries if entry.kind == "repair"]
    mended = [case.of.works[e["repair"]].do for e in repairs if e["word"] == "passed"]
    if case.status != CLOSED or not mended:
        return ["No repair is proved. Do not take the machine as protected."]
    path = next(each for each in case.of.checks.paths if each.name == case.of.checks.daily)
    at = clock(next(e.at for e in reversed(repairs) if e["word"] == "passed"))
    vain = [case.of.works[e["repair"]].do for e in repairs if e["word"] != "passed"]
    found = [
        f"Repair: {' '.join(dict.fromkeys(mended))}",
        *([f"Worked on in vain: {' '.join(dict.fromkeys(vain))}"] if vain else []),
        f'Proof: the daily test "{path.name}" passed, last at {at}. The chance that a fault is'
        f" left is {percent(doubt(case.of, case.situation))}.",
    ]
    if path.leaves_open:
        found.append(f"The daily test leaves open: {path.leaves_open}.")
    return found


def minutes_spent(done: tuple[Done, ...]) -> float:
    """Minutes that the plan counts for what was done."""
    return sum(each.minutes for each in done)


def minutes_words(done: tuple[Done, ...]) -> str:
    """The same in a sentence."""
    return f"Time by the plan: {minutes_spent(done):.0f} min."
