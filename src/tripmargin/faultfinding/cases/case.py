"""A case: one machine, one complaint, what was looked at, what is believed, what to do next."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np

from tripmargin.faultfinding.cases.advising import Adviser
from tripmargin.faultfinding.cases.cards import PASSED, Card, card_of
from tripmargin.faultfinding.cases.case_file import CaseFile
from tripmargin.faultfinding.cases.case_lines import Entry
from tripmargin.faultfinding.cases.findings import entry_of, failed_step, heard
from tripmargin.faultfinding.cases.leaving import Leaving
from tripmargin.faultfinding.cases.proving import LEFT_OPEN, doubt, failed, passed
from tripmargin.faultfinding.cases.refusing import again, has_ended
from tripmargin.faultfinding.deciding.beliefs import Situation, observed
from tripmargin.faultfinding.deciding.problem import CURED
from tripmargin.faultfinding.deciding.ranking import NextAction
from tripmargin.faultfinding.suspects.machine_problem import ASK, MachineProblem, machine_problem
from tripmargin.machine import Machine

OPEN, PROVING, CLOSED, HANDED_OVER = "open", "proving", "closed", "handed over"
"""Where a case may stand: faults are looked for; a repair passed but leaves something open; proved;
given to somebody else."""
ASIDE = "aside"
"""Kind of an entry that is kept and counts for nothing: an answer that came too late to count."""
NO_PART = ("machine", ASIDE)


@dataclass(frozen=True, slots=True)
class Moment:
    """Where a case stands after an entry."""

    situation: Situation
    status: str


class Case:
    """Fault finding on one machine, from the complaint to a repair that is proved.

    Parameters
    ----------
    machine : Machine or MachineProblem
        A MachineProblem saves working the machine's faults out again.
    complaint : str, optional
        One of `COMPLAINTS`; it can be recorded later, or asked for by the first card.
    path : path, optional
        Where the case is kept, with a copy of the machine in a file beside it; without it, in
        memory.

    Raises
    ------
    NotKnownError
        If the machine file has no `[circuit]` or no `[checks]`.
    ProblemError
        If there is no such complaint.

    Examples
    --------
    >>> from tripmargin.machine import load_machine
    >>> case = Case(load_machine("dunlin"), complaint="feed stays stopped")
    >>> case.status
    'open'
    """

    def __init__(
        self,
        machine: Machine | MachineProblem,
        *,
        complaint: str | None = None,
        path: str | os.PathLike[str] | None = None,
    ) -> None:
        from tripmargin.machine.copies import copy_of

        of = machine if isinstance(machine, MachineProblem) else machine_problem(machine)
        head = {"machine_name": of.machine.name, "machine": copy_of(of.machine)}
        file = CaseFile.in_memory(head) if path is None else CaseFile.begin(path, head)
        self._start(of, file)
        if complaint is not None:
            self.record(ASK, complaint)

    def _start(self, of: MachineProblem, file: CaseFile, leaving: Leaving | None = None) -> None:
        self.of, self.file = of, file
        self._adviser = Adviser(of)
        self._moments: dict[tuple[int, ...], list[Moment]] = {}
        self._leaving = leaving or Leaving()

    @classmethod
    def resume(
        cls, path: str | os.PathLike[str], machine: Machine | None = None, *, keep: str = ""
    ) -> Case:
        """Go on with a case that was kept.

        Parameters
        ----------
        path : path
        machine : Machine, optional
            As its file is today; without it, as it was when the case was begun. Where the copy
            beside the case is missing or damaged and the machine is the same, it is written anew.
        keep : str
            When the two differ: "as it was" goes on with the machine of the case, "as it is" with
            that of today; what was entered for looks that are no more is set aside, not lost.

        Raises
        ------
        MachineChangedError
            If the machine's file has changed since, and `keep` does not say what to do.
        CaseFileError
            If the case's file cannot be read; a MachineBesideError if only the copy of its machine
            is missing or damaged, and the machine given is another or none: `keep` "as it is" goes
            on with that of today.
        """
        from tripmargin.faultfinding.cases.resuming import machine_of_case

        file = CaseFile.open(path)
        case = cls.__new__(cls)
        case._start(machine_problem(machine_of_case(file, machine, keep)), file)
        case._leaving = Leaving(at=tuple(entry.n for entry in case.entries))
        return case

    @classmethod
    def from_file(
        cls, of: MachineProblem, file: CaseFile, *, rest_after: timedelta = timedelta.max
    ) -> Case:
        """A case whose lines any store holds, and whose machine is known.

        Parameters
        ----------
        of : MachineProblem
        file : CaseFile
        rest_after : timedelta
            Where so long nothing was entered, the machine was left: it stands at rest since.
        """
        case = cls.__new__(cls)
        case._start(of, file, Leaving(rest_after=rest_after))
        return case

    # What was done

    @property
    def entries(self) -> tuple[Entry, ...]:
        """What was recorded and not taken back, in order; without what was set aside."""
        kept = (self._in_todays_words(each) for each in self.file.standing)
        return tuple(each for each in kept if each.kind not in NO_PART and self._known(each))

    @property
    def set_aside(self) -> tuple[Entry, ...]:
        """Entries for looks or repairs that the machine's file does not have any more."""
        every = (self._in_todays_words(each) for each in self.file.standing)
        return tuple(each for each in every if not self._known(each))

    def _in_todays_words(self, entry: Entry) -> Entry:
        question = self.of.questions.get(str(entry.get("check", "")))
        if question is None or question.kind != "buzzer":
            return entry
        return replace(entry, fields={**entry.fields, "word": heard(str(entry["word"]))})

    def _known(self, entry: Entry) -> bool:
        if entry.kind == "finding":
            number = self.of.problem.numbers.get(f"check:{entry['check']}")
            return number is not None and entry["word"] in self.of.problem.checks[number].outcomes
        return entry.kind != "repair" or entry["repair"] in self.of.works

    def record(
        self,
        check: str,
        finding: str | float,
        note: str = "",
        *,
        failed_at: int | None = None,
        taken_from: int | None = None,
    ) -> Entry:
        """Record what a card showed.

        Parameters
        ----------
        check : str
            A card's id: a look such as "armed: trip latched", a repair such as "mend W3",
            "prove again", "hand over", or "complaint".
        finding : str or float
            One of the card's words, or a meter's reading (V or ohm; infinite for overload).
            After a repair "passed" or "failed": what the daily test showed.
        note : str
            Kept with the entry.
        failed_at : int, optional
            Of a daily test that failed: at which of its steps, from 1.
        taken_from : int, optional
            Number of the entry that was kept aside, where this is what it said.

        Raises
        ------
        ProblemError
            If there is no such card or word. Nothing is recorded then.
        """
        if self.status in (CLOSED, HANDED_OVER):
            raise has_ended(self.status)
        asked = check == ASK or check in self.of.questions
        if asked and self.situation.used[self.of.problem.numbers[f"check:{check}"]]:
            raise again(check, finding)
        kind, fields = entry_of(self.of, check, finding)
        fields |= failed_step(self.of, kind, fields, failed_at)
        if note:
            fields["note"] = note
        if taken_from is not None:
            fields["from"] = taken_from
        return self.file.append(kind, **fields)

    def undo(self, n: int | None = None) -> Entry | None:
        """Take the last entry back, or number n; it stays in the file. None where it is not there.

        What was entered after number n stands.
        """
        mine = [each.n for each in self.entries if n in (None, each.n)]
        return self.file.append("undo", of=mine[-1]) if mine else None

    def redo(self) -> Entry | None:
        """Take the last undo back."""
        return self.file.redo()

    # What is believed

    def moments(self) -> list[Moment]:
        """Where the case stood at the start and after each entry."""
        entries = self.entries
        key = tuple(entry.n for entry in entries)
        if key not in self._moments:
            start = np.zeros(len(self.of.problem.checks), dtype=bool)
            first = Situation(self.of.problem.prior, start, self.of.problem.start_state)
            found = [Moment(first, OPEN)]
            for count, entry in enumerate(entries, 1):
                found.append(self._after(found[-1], entry))
                if self._leaving.after(entries, count):  # and come back to: it stands at rest
                    rest = replace(found[-1].situation, state=self.of.problem.start_state)
                    found[-1] = replace(found[-1], situation=rest)
            self._moments = {key: found}
        return self._moments[key]

    def _after(self, before: Moment, entry: Entry) -> Moment:
        problem = self.of.problem
        if entry.kind == "finding":
            number = problem.numbers[f"check:{entry['check']}"]
            outcome = problem.checks[number].outcomes.index(entry["word"])
            after = observed(problem, before.situation, number, outcome)
            return Moment(after, self._status(before.status, after))
        if entry.kind == "repair":
            number = problem.numbers[f"repair:{entry['repair']}"] - len(problem.checks)
            if entry["word"] == PASSED:
                after = passed(self.of, before.situation, number, before.status == PROVING)
                return Moment(after, self._status(PROVING, after))
            step = entry.get("failed_at")
            return Moment(failed(self.of, before.situation, number, self._step(step)), OPEN)
        if entry.kind == "hand over":
            return Moment(before.situation, HANDED_OVER)
        return before

    def _step(self, step: object) -> int | None:
        """A step of the daily test; None where this machine's test has no such step."""
        whole = isinstance(step, int) and not isinstance(step, bool)
        return step if whole and 1 <= step <= self.of.daily_steps else None  # type: ignore[operator,return-value]

    def _status(self, before: str, situation: Situation) -> str:
        """Whether a case whose last daily test passed is closed; open again if more likely not."""
        if before not in (PROVING, CLOSED):
            return OPEN
        left = doubt(self.of, situation)
        return CLOSED if left <= LEFT_OPEN else PROVING if left <= 0.5 else OPEN

    @property
    def situation(self) -> Situation:
        """What is believed now."""
        return self.moments()[-1].situation

    @property
    def status(self) -> str:
        """One of "open", "proving", "closed" and "handed over"."""
        return self.moments()[-1].status

    def beliefs(self) -> dict[str, float]:
        """Chance of each hypothesis that is possible at all, the likeliest first; sums to 1."""
        belief = self.situation.belief
        order = np.argsort(-belief, kind="stable")
        return {self.of.hypotheses[h].id: float(belief[h]) for h in order if belief[h] > 0}

    def by_repair(self) -> dict[str, float]:
        """Chance that each repair alone would cure, the likeliest first.

        Of "prove again" it is the chance that nothing is wrong; of "hand over", that it is
        something that is not listed.
        """
        problem, belief = self.of.problem, self.situation.belief
        found = {
            work.id: float(belief[problem.left[k] == CURED].sum())
            for k, work in enumerate(self.of.repairs)
        }
        return dict(sorted(found.items(), key=lambda pair: -pair[1]))

    # What to do next

    def next_checks(self, n: int = 3) -> tuple[Card, ...]:
        """The best n cards, the cheapest way to *protected and proved* first; none at the end."""
        if self.status in (CLOSED, HANDED_OVER):
            return ()
        actions = self._ranked(n)
        cards = [card_of(self.of, action) for action in actions]
        if cards:
            cards[0] = self._with_reasons(cards[0], actions)
        return tuple(cards[:n])

    def _ranked(self, n: int) -> list[NextAction]:
        return self._adviser.actions(self.situation, n, proving=self.status == PROVING)

    def _with_reasons(self, card: Card, actions: Sequence[NextAction]) -> Card:
        from tripmargin.faultfinding.cases.telling import because, shortly

        now = self.of, self.situation, self.status
        return replace(card, because=because(*now, actions), short=shortly(*now, actions[0]))
