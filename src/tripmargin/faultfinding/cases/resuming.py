"""Going on with a case whose machine's file may have changed meanwhile."""

from __future__ import annotations

from collections.abc import Sequence

from tripmargin.faultfinding.cases.case_file import CaseFile
from tripmargin.faultfinding.deciding.troubles import ProblemError
from tripmargin.machine import Machine
from tripmargin.machine.copies import (
    Difference,
    copy_of,
    differences,
    digest_of,
    machine_from_copy,
)

AS_IT_WAS, AS_IT_IS = "as it was", "as it is"
"""Ways to go on with a case whose machine has changed."""
NAMED = 8


class MachineChangedError(ProblemError):
    """The machine's file has changed since the case was begun; `.differences` says where."""

    def __init__(self, name: str, found: Sequence[Difference]) -> None:
        self.differences = tuple(found)
        shown = [str(each) for each in found[:NAMED]]
        more = len(found) - len(shown)
        shown += [f"and {more} more"] if more else []
        super().__init__(
            "case", name, f"the machine has changed since: {'; '.join(shown)}",
            f"'{AS_IT_WAS}' (go on with the machine of the case) or '{AS_IT_IS}' (with today's)",
            "Findings for looks that are no more are set aside, not lost.",
        )  # fmt: skip


def machine_of_case(file: CaseFile, machine: Machine | None, keep: str) -> Machine:
    """The machine that a case goes on with; a choice of today's is written into the case.

    Raises
    ------
    MachineChangedError
        If the two differ and `keep` chooses neither.
    """
    if keep not in ("", AS_IT_WAS, AS_IT_IS):
        raise ProblemError("keep", keep, "not known", f"'{AS_IT_WAS}' or '{AS_IT_IS}'")
    chosen = [entry["machine"] for entry in file.entries if entry.kind == "machine"]
    copy = chosen[-1] if chosen else file.head["machine"]
    if machine is None or keep == AS_IT_WAS or digest_of(machine) == digest_of(copy):
        return machine_from_copy(copy)
    if keep != AS_IT_IS:
        raise MachineChangedError(machine.name, differences(copy, machine))
    file.append("machine", machine=copy_of(machine))
    return machine
