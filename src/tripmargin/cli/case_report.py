"""The report at the end of a case, or of what was done so far; and the same as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tripmargin.cli.case_screen import Lines
from tripmargin.faultfinding.wording.belief_words import ruled_out_sentences
from tripmargin.faultfinding.wording.report_words import (
    clock,
    complaint,
    minutes_spent,
    minutes_words,
    proof,
)
from tripmargin.faultfinding.wording.standing_words import outcome
from tripmargin.ground.languages import say

if TYPE_CHECKING:
    from tripmargin.faultfinding import Case
    from tripmargin.faultfinding.cases.so_far import Done


def report_lines(case: Case) -> list[str]:
    """Complaint, outcome, findings in order, repair, proof, minutes and cautions."""
    from tripmargin.faultfinding.cases.cautions import FIRST, NEVER_LOCKED
    from tripmargin.faultfinding.cases.so_far import done_so_far

    lines, done = Lines(), done_so_far(case)
    lines.rule(say("Report: {name}", name=case.of.machine.name))
    lines.write(outcome(case))
    lines.gap()
    lines.write(say("Complaint: {complaint}", complaint=complaint(done)))
    lines.write(say("Begun: {time}", time=clock(str(case.file.head["begun"]))))
    lines.gap()
    for each in done:
        _done(lines, each)
    lines.gap()
    for text in proof(case):
        lines.write(text)
    lines.write(minutes_words(done))
    for caution in (FIRST, NEVER_LOCKED):
        lines.write(say(caution), "! ")
    return lines.all


def so_far_lines(case: Case) -> list[str]:
    """What a case that is taken up again holds already."""
    from tripmargin.faultfinding.cases.so_far import done_so_far

    lines, done = Lines(), done_so_far(case)
    lines.rule(say("So far"))
    for each in done:
        _done(lines, each)
    if not done:
        lines.write(say("Nothing was entered yet."))
    return lines.all


def _done(lines: Lines, done: Done) -> None:
    lines.write(f"{done.what.rstrip('.')}: {done.found}", f"{done.at[11:16]}  ")
    for text in ruled_out_sentences(done):
        lines.write(text, "       ")


def case_as_dict(case: Case, cards: int) -> dict[str, Any]:
    """A case as JSON: where it stands, what is believed, what is next, what was done."""
    from tripmargin.faultfinding.cases.proving import doubt
    from tripmargin.faultfinding.cases.so_far import done_so_far

    done = done_so_far(case)
    texts = {each.id: each.said for each in case.of.hypotheses}
    beliefs = case.beliefs()
    return {
        "machine_name": case.of.machine.name,
        "case": None if case.file.path is None else str(case.file.path),
        "status": case.status,
        "chance_of_fault_left": doubt(case.of, case.situation),
        "beliefs": beliefs,
        "texts": {name: texts[name] for name in beliefs},
        "by_repair": case.by_repair(),
        "cards": [card.to_dict() for card in case.next_checks(cards)],
        "entries": [entry.to_dict() for entry in case.entries],
        "ruled_out": [
            {"n": each.n, "ruled_out": list(each.ruled_out)} for each in done if each.ruled_out
        ],
        "minutes_spent": minutes_spent(done),
        "set_aside": [entry.to_dict() for entry in case.set_aside],
        "torn": case.file.torn,
        "unread": [unread.to_dict() for unread in case.file.unread],
    }
