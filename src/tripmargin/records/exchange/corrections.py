"""What the entries of a file correct: each something that is there, and only once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from uuid import UUID

from tripmargin.ground.languages import say
from tripmargin.records.exchange.incoming import Incoming
from tripmargin.records.exchange.troubles import Troubles
from tripmargin.records.kinds import Wrong
from tripmargin.records.store.models import Entry

AT_A_TIME = 500


@dataclass(frozen=True, slots=True)
class _Correction:
    line: int
    uid: UUID
    machine: str


class Corrections:
    """Gathers the corrections of a file and looks at them when all of it was read.

    A correction may stand before what it corrects: a spreadsheet sorts as its user likes.
    """

    def __init__(self, troubles: Troubles) -> None:
        self.troubles = troubles
        self._of: dict[UUID, _Correction] = {}  # by what is corrected

    @property
    def targets(self) -> set[UUID]:
        """The ids of everything that is corrected."""
        return set(self._of)

    def note(self, one: Incoming, uid: UUID, machine: str) -> None:
        """Take a new entry of the file in."""
        if one.corrects is None:
            return
        if one.corrects in self._of:
            first = self._of[one.corrects]
            self._wrong(
                one.line,
                one.corrects,
                say("corrected already in line {line}", line=first.line),
                say("an entry that stands"),
            )
            return
        self._of[one.corrects] = _Correction(one.line, uid, machine)

    def look(self, machine_of: Callable[[UUID], str | None]) -> None:
        """Note everything that is wrong with them; `machine_of` knows the entries of the file."""
        targets = list(self._of)
        for start in range(0, len(targets), AT_A_TIME):
            some = targets[start : start + AT_A_TIME]
            rows = Entry.objects.filter(uid__in=some).values_list(
                "uid", "machine__uid", "corrected_by__uid"
            )
            kept = {uid: (str(machine), by) for uid, machine, by in rows}
            for target in some:
                self._look(target, kept.get(target, (machine_of(target), None)))
        self._look_for_circles()

    def _look(self, target: UUID, kept: tuple[str | None, UUID | None]) -> None:
        one = self._of[target]
        machine, by = kept
        if machine is None:
            self._wrong(
                one.line,
                target,
                say("no such entry in the file or in the records"),
                say("the id of an entry that is there"),
            )
        elif machine != one.machine:
            self._wrong(
                one.line,
                target,
                say("an entry of another machine"),
                say("an entry of the same machine"),
            )
        elif by not in (None, one.uid):
            self._wrong(
                one.line,
                target,
                say("corrected already"),
                say("an entry that stands; this one gave way to {by}", by=by),
                say("Correct that entry instead."),
            )

    def _look_for_circles(self) -> None:
        target_of = {one.uid: target for target, one in self._of.items()}
        done: set[UUID] = set()
        for begin in target_of:
            way: dict[UUID, None] = {}
            at: UUID | None = begin
            while at is not None and at not in done and at not in way:
                way[at] = None
                at = target_of.get(at)
            if at in way:
                line = self._of[target_of[at]].line
                self._wrong(
                    line,
                    target_of[at],
                    say("entries that correct each other in a circle"),
                    say("an entry that was there before"),
                )
            done.update(way)

    def _wrong(self, line: int, target: UUID, problem: str, allowed: str, hint: str = "") -> None:
        self.troubles.note(line, [Wrong("corrects", str(target), problem, allowed, hint)])
