"""Going on with a case whose machine's file may have changed meanwhile."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from tripmargin.faultfinding.cases.case_file import CaseFile
from tripmargin.faultfinding.cases.machine_beside import (
    FILE,
    MachineBesideError,
    copy_kept,
    kept_beside,
    names_digest,
)
from tripmargin.faultfinding.deciding.troubles import ProblemError
from tripmargin.ground.languages import say, say_many
from tripmargin.ground.languages.lists import listed
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
        shown += [say_many("and {count} more", "and {count} more", more)] if more else []
        super().__init__(
            "case",
            name,
            say("the machine has changed since: {shown}", shown="; ".join(shown)),
            say(
                "'{as_it_was}' (go on with the machine of the case) or '{as_it_is}' (with today's)",
                as_it_was=AS_IT_WAS,
                as_it_is=AS_IT_IS,
            ),
            say("Findings for looks that are no more are set aside, not lost."),
        )


def machine_of_case(file: CaseFile, machine: Machine | None, keep: str) -> Machine:
    """The machine that a case goes on with; a choice of today's is written into the case.

    Where the copy beside the case is missing or damaged, and the machine given is the same one,
    the copy is written anew.

    Raises
    ------
    MachineChangedError
        If the two differ and `keep` chooses neither.
    MachineBesideError
        If the copy cannot be read, and neither the machine given nor `keep` makes up for it.
    """
    if keep not in ("", AS_IT_WAS, AS_IT_IS):
        known = listed((f"'{AS_IT_WAS}'", f"'{AS_IT_IS}'"), "or")
        raise ProblemError("keep", keep, say("not known"), known)
    chosen = [entry.fields for entry in file.entries if entry.kind == "machine"]
    fields = chosen[-1] if chosen else file.head
    try:
        copy = copy_kept(file.path, fields)
    except MachineBesideError as error:
        return _without_copy(file, fields, machine, keep, error)
    if machine is None or keep == AS_IT_WAS or digest_of(machine) == digest_of(copy):
        return machine_from_copy(copy)
    if keep != AS_IT_IS:
        raise MachineChangedError(machine.name, differences(copy, machine))
    return _todays(file, machine)


def _todays(file: CaseFile, machine: Machine) -> Machine:
    """The machine as it is today, written into the case."""
    file.append("machine", **kept_beside(file.path, copy_of(machine)))
    return machine


def _without_copy(
    file: CaseFile,
    fields: Mapping[str, Any],
    machine: Machine | None,
    keep: str,
    error: MachineBesideError,
) -> Machine:
    if machine is not None and names_digest(fields, digest_of(machine)):
        kept_beside(file.path, copy_of(machine), fields[FILE])
        return machine
    if machine is not None and keep == AS_IT_IS:
        return _todays(file, machine)
    hint = [
        say_many(
            "What was entered is whole: {count} entry.",
            "What was entered is whole: {count} entries.",
            len(file.entries),
        )
    ]
    if error.value:
        put_back = say(
            "Put {file} back beside the case, or go on with today's machine by '{as_it_is}'.",
            file=error.value,
            as_it_is=AS_IT_IS,
        )
        hint.append(put_back)
    else:
        mend = say(
            "Mend the first line, or go on with today's machine by '{as_it_is}'.", as_it_is=AS_IT_IS
        )
        hint.append(mend)
    if machine is not None:
        other = say(
            "{machine}, as it is today, is not the machine that this case names.",
            machine=machine.name,
        )
        hint.append(other)
    raise MachineBesideError(error.file, error.problem, error.value, " ".join(hint)) from error
