"""The report at the end of a case, or of what was done so far; and the same as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tripmargin.cli.case_beliefs import ruled_out_by
from tripmargin.cli.case_screen import Lines, percent

if TYPE_CHECKING:
    from tripmargin.faultfinding import Case
    from tripmargin.faultfinding.cases.so_far import Done


def report_lines(case: Case) -> list[str]:
    """Complaint, outcome, findings in order, repair, proof, minutes and cautions."""
    from tripmargin.faultfinding.cases.cautions import FIRST, NEVER_LOCKED
    from tripmargin.faultfinding.cases.so_far import done_so_far

    lines, done = Lines(), done_so_far(case)
    lines.rule(f"Report: {case.of.machine.name}")
    lines.say(outcome(case))
    lines.gap()
    lines.say(f"Complaint: {complaint(done)}")
    lines.say(f"Begun: {clock(str(case.file.head['begun']))}")
    lines.gap()
    for each in done:
        _done(lines, each)
    lines.gap()
    for text in proof(case):
        lines.say(text)
    lines.say(f"Time by the plan: {minutes_spent(done):.0f} min.")
    for caution in (FIRST, NEVER_LOCKED):
        lines.say(caution, "! ")
    return lines.all


def so_far_lines(case: Case) -> list[str]:
    """What a case that is taken up again holds already."""
    from tripmargin.faultfinding.cases.so_far import done_so_far

    lines, done = Lines(), done_so_far(case)
    lines.rule("So far")
    for each in done:
        _done(lines, each)
    if not done:
        lines.say("Nothing was entered yet.")
    return lines.all


def _done(lines: Lines, done: Done) -> None:
    lines.say(f"{done.what.rstrip('.')}: {done.found}", f"{done.at[11:16]}  ")
    for text in ruled_out_sentences(done):
        lines.say(text, "       ")


def ruled_out_sentences(done: Done) -> list[str]:
    """What an entry ruled out, a sentence for each reason."""
    return [f"{why[0].lower()}{why[1:]}: {'; '.join(texts)}" for why, texts in ruled_out_by(done)]


def clock(at: str) -> str:
    """An ISO time as people write it.

    >>> clock("2026-05-04T07:30:00+02:00")
    '2026-05-04 07:30'
    """
    return at[:16].replace("T", " ")


def complaint(done: tuple[Done, ...]) -> str:
    """The complaint in a sentence."""
    from tripmargin.faultfinding import ASK

    return next((each.found for each in reversed(done) if each.what == ASK), "none was entered.")


def outcome(case: Case) -> str:
    """How the case stands, in one sentence."""
    from tripmargin.faultfinding import CLOSED, HANDED_OVER, PROVING

    if case.status == CLOSED:
        return "CLOSED: mended, and proved by the daily test."
    if case.status == HANDED_OVER:
        return f"HANDED OVER: {case.entries[-1]['why']}"
    if case.status == PROVING:
        return "NOT PROVED YET: the daily test passed, but a fault may be left."
    return "OPEN: the fault is not found yet. The machine is not known to be protected."


def proof(case: Case) -> list[str]:
    """What was mended, and what proves it; and what the daily test leaves open."""
    from tripmargin.faultfinding import CLOSED
    from tripmargin.faultfinding.cases.proving import doubt

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
