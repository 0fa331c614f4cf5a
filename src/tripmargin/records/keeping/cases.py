"""Fault-finding cases in the records: begun, added to by several at once, and never a line lost."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Any

from django.db import IntegrityError, transaction

from tripmargin.faultfinding import ASK, COMPLAINTS, Case, MachineProblem, ProblemError
from tripmargin.faultfinding.cases.case import ASIDE
from tripmargin.faultfinding.cases.case_file import Entry, first_line
from tripmargin.faultfinding.cases.findings import entry_of, failed_step
from tripmargin.faultfinding.wording.standing_words import has_ended
from tripmargin.ground.languages import say, say_as
from tripmargin.records.keeping.case_lines import (
    By,
    InDatabase,
    Line,
    came_already,
    case_file,
    lines_of,
    locked,
)
from tripmargin.records.store.models import FaultCase, Machine, MachineVersion

LEFT = timedelta(minutes=30)
"""Nobody leaves a machine live or running for so long without an answer: it stands at rest.
Engineering judgement, no source."""
LONGEST = 1000
"""Letters of a sentence that goes with an answer."""

SAME, OTHER, MENDED, ENDED = "same", "other", "mended", "ended"
"""Why an answer came too late: somebody answered the same card, alike or not; something was mended
since; the case has ended."""


@dataclass(frozen=True, slots=True)
class Said:
    """An answer to a card.

    Attributes
    ----------
    check, finding, note
        As `Case.record` takes them.
    seen : int
        Number of the last entry that stood when the card was shown.
    failed_at : int, optional
        Of a daily test that failed: at which step.
    """

    check: str
    finding: str | float
    note: str = ""
    seen: int = 0
    failed_at: int | None = None


@dataclass(frozen=True, slots=True)
class Recorded:
    """What became of an answer: the entry that it made, and why it counts for nothing if so."""

    entry: Entry
    aside: str = ""
    new: bool = True


def begin_case(version: MachineVersion, complaint: str, *, by: By) -> FaultCase:
    """A new case on a machine as this version has it; the second try of the same id is the first.

    Parameters
    ----------
    version : MachineVersion
    complaint : str
        One of `COMPLAINTS`, or empty: the first card asks for it.
    by : By
        Its uid is the case's own.

    Raises
    ------
    ProblemError
        If there is no such complaint, or the id belongs to a case of another machine.
    """
    if complaint and complaint not in COMPLAINTS:
        raise ProblemError(
            ASK, complaint, say_as("case", "no such complaint"), ", ".join(COMPLAINTS)
        )
    machine = version.machine
    made = {} if by.uid is None else {"uid": by.uid}
    case = FaultCase(
        machine=machine, version=version, begun_by_name=str(by), complaint=complaint, **made
    )
    head = {"machine_name": machine.name, "machine_digest": version.digest}
    try:
        with transaction.atomic():
            case.save(force_insert=True)
            InDatabase(case, By(by.who, by.name)).write(first_line(head, str(case.uid)))
            if complaint:
                case_file(case, by).append("finding", check=ASK, word=complaint)
            _refresh(machine)
    except IntegrityError:
        found = FaultCase.objects.get(uid=by.uid)
        if found.machine_id != machine.pk:
            raise ProblemError(
                "id",
                str(by.uid),
                say("the id of a case of another machine"),
                say("an id of its own"),
                say("Open the page anew and begin the case from there."),
            ) from None
        return found
    return case


def open_case(case: FaultCase, of: MachineProblem, by: By | None = None) -> Case:
    """The case as the fault-finding room knows it."""
    return Case.from_file(of, case_file(case, by), rest_after=LEFT)


def record(case: FaultCase, of: MachineProblem, said: Said, *, by: By) -> Recorded:
    """Record an answer. One that came too late is kept aside: it counts for nothing, for now.

    Raises
    ------
    ProblemError
        If there is no such card or word. Nothing is recorded then.
    """
    kind, fields = entry_of(of, said.check, said.finding)
    fields |= failed_step(of, kind, fields, said.failed_at)
    for text in (said.note, str(fields.get("why", ""))):
        if len(text) > LONGEST:
            allowed = say("at most {most} letters", most=LONGEST)
            raise ProblemError(
                "sentence", say("{count} letters", count=len(text)), say("too long"), allowed
            )
    with transaction.atomic():
        row = locked(case)
        before = came_already(row, by.uid)
        if before is not None:
            if _is_about(before, said.check):
                return Recorded(before, before.get("why_late", ""), new=False)
            by = replace(by, uid=None)  # another answer under a used id: it is not lost for that
        opened = open_case(row, of, by)
        late = _late(opened, said, fields)
        if late:
            noted = {"note": said.note} if said.note else {}
            about = {"of": said.check, "said": kind, "why_late": late, **fields, **noted}
            return Recorded(opened.file.append(ASIDE, **about), late)
        made = opened.record(said.check, said.finding, said.note, failed_at=said.failed_at)
        _follow(row, opened)
        return Recorded(made)


def _is_about(entry: Entry, check: str) -> bool:
    """Whether an entry is an answer to this card."""
    about = entry.get("of") if entry.kind == ASIDE else entry.get("check", entry.get("repair"))
    return entry.kind == check or about == check


def _late(case: Case, said: Said, fields: dict[str, Any]) -> str:
    """Why an answer cannot simply be recorded; empty where it can."""
    if has_ended(case):
        return ENDED
    number = case.of.problem.numbers.get(f"check:{said.check}")
    if number is not None and case.situation.used[number]:
        there = answered_by(case, said.check)
        if there is None:
            return MENDED  # a daily test has shown it since
        return SAME if there.get("word") == fields.get("word") else OTHER
    since = (entry for entry in case.entries if entry.n > said.seen)
    return MENDED if any(entry.kind == "repair" for entry in since) else ""


def answered_by(case: Case, check: str) -> Entry | None:
    """The standing answer to a look since the last repair; None where there is none."""
    found = None
    for entry in case.entries:
        if entry.kind == "repair" and check != ASK:
            found = None
        elif entry.get("check") == check:
            found = entry
    return found


def waiting(case: Case) -> tuple[Entry, ...]:
    """Answers that were kept aside, and may still be recorded."""
    every = case.file.entries
    taken = {entry.get("from") for entry in case.file.standing}
    return tuple(each for each in every if each.kind == ASIDE and each.n not in taken)


def replaced_by(case: Case, aside: Entry) -> Entry | None:
    """The entry that is taken back where an answer kept aside is recorded after all."""
    if has_ended(case):
        return case.entries[-1]
    return answered_by(case, str(aside["of"]))


def record_after_all(case: FaultCase, of: MachineProblem, n: int, *, by: By) -> Entry:
    """Record the answer that was kept aside as entry n, in the place of what it cannot go with.

    Raises
    ------
    ProblemError
        If there is no such answer, or the card asks for what has been shown since.
    """
    with transaction.atomic():
        row = locked(case)
        before = came_already(row, by.uid)
        if before is not None:
            return before
        opened = open_case(row, of, by)
        aside = next((each for each in waiting(opened) if each.n == n), None)
        if aside is None:
            raise ProblemError(
                "answer",
                n,
                say("no such answer waits"),
                say("one that was kept aside"),
                say("Somebody may have recorded it meanwhile."),
            )
        gives_way = replaced_by(opened, aside)
        if gives_way is not None:
            opened.undo(gives_way.n)
        finding = aside.get("reading", aside.get("word", aside.get("why", "")))
        note = str(aside.get("note", ""))
        step = aside.get("failed_at")
        made = opened.record(str(aside["of"]), finding, note, failed_at=step, taken_from=n)
        _follow(row, opened)
        return made


def take_back(case: FaultCase, of: MachineProblem, n: int, *, by: By) -> Entry | None:
    """Take entry n back, if it is the last one; None where another one is, or it is gone."""
    with transaction.atomic():
        row = locked(case)
        if came_already(row, by.uid) is None:
            opened = open_case(row, of, by)
            if not opened.entries or opened.entries[-1].n != n:
                return None
            opened.undo()
            _follow(row, opened)
        return next((line.entry for line in lines_of(row) if line.entry.n == n), None)


def bring_back(case: FaultCase, of: MachineProblem, *, by: By) -> bool:
    """Take the last undo back; whether there was one."""
    with transaction.atomic():
        row = locked(case)
        if came_already(row, by.uid) is not None:
            return True
        opened = open_case(row, of, by)
        if opened.redo() is None:
            return False
        _follow(row, opened)
        return True


def go_on_with(case: FaultCase, version: MachineVersion, *, by: By) -> None:
    """Go on with another version of the machine; what it has no look for is set aside, not lost."""
    with transaction.atomic():
        row = locked(case)
        if row.version_id == version.pk or version.machine_id != row.machine_id:
            return
        case_file(row, by).append("machine", machine_digest=version.digest, version=version.number)
        row.version = version
        row.save(update_fields=["version"])


def _follow(row: FaultCase, case: Case) -> None:
    """Let the row say where the lines end."""
    asked = [entry["word"] for entry in case.entries if entry.get("check") == ASK]
    complaint = asked[-1] if asked else ""
    if (row.status, row.complaint) != (case.status, complaint):
        row.status, row.complaint = case.status, complaint
        row.save(update_fields=["status", "complaint"])
        _refresh(row.machine)


def _refresh(machine: Machine) -> None:
    from tripmargin.records.standing.refreshing import refresh

    Machine.objects.select_for_update().get(pk=machine.pk)
    refresh(machine)


__all__ = [
    "By",
    "Line",
    "Recorded",
    "Said",
    "begin_case",
    "bring_back",
    "case_file",
    "go_on_with",
    "lines_of",
    "open_case",
    "record",
    "record_after_all",
    "take_back",
]
