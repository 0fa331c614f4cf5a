"""What a case comes to, in words: complaint, repair, proof, minutes."""

from __future__ import annotations

from tripmargin.faultfinding.cases.case import CLOSED, Case
from tripmargin.faultfinding.cases.proving import doubt
from tripmargin.faultfinding.cases.so_far import Done
from tripmargin.faultfinding.deciding.reasons import percent
from tripmargin.faultfinding.suspects.machine_problem import ASK
from tripmargin.ground.languages import say
from tripmargin.ground.languages.own_words import as_written


def clock(at: str) -> str:
    """An ISO time as people write it.

    >>> clock("2026-05-04T07:30:00+02:00")
    '2026-05-04 07:30'
    """
    return at[:16].replace("T", " ")


def complaint(done: tuple[Done, ...]) -> str:
    """The complaint in a sentence."""
    told = (each.found for each in reversed(done) if each.check == ASK)
    return next(told, say("none was entered."))


def proof(case: Case) -> list[str]:
    """What was mended, and what proves it; and what the daily test leaves open."""
    repairs = [entry for entry in case.entries if entry.kind == "repair"]
    mended = [case.of.works[e["repair"]].do for e in repairs if e["word"] == "passed"]
    if case.status != CLOSED or not mended:
        return [say("No repair is proved. Do not take the machine as protected.")]
    path = next(each for each in case.of.checks.paths if each.name == case.of.checks.daily)
    at = clock(next(e.at for e in reversed(repairs) if e["word"] == "passed"))
    vain = [case.of.works[e["repair"]].do for e in repairs if e["word"] != "passed"]
    found = [
        say("Repair: {works}", works=" ".join(dict.fromkeys(mended))),
        *([say("Worked on in vain: {works}", works=" ".join(dict.fromkeys(vain)))] if vain else []),
        say(
            'Proof: the daily test "{path}" passed, last at {at}. The chance that a fault is left'
            " is {chance}.",
            path=as_written(path.name),
            at=at,
            chance=percent(doubt(case.of, case.situation)),
        ),
    ]
    if path.leaves_open:
        found.append(
            say("The daily test leaves open: {faults}.", faults=as_written(path.leaves_open))
        )
    return found


def minutes_spent(done: tuple[Done, ...]) -> float:
    """Minutes that the plan counts for what was done."""
    return sum(each.minutes for each in done)


def minutes_words(done: tuple[Done, ...]) -> str:
    """The same in a sentence."""
    return say("Time by the plan: {minutes:.0f} min.", minutes=minutes_spent(done))
