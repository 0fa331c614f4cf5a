"""States, looks and repairs by what a person types: the name, part of it, or its number."""

from __future__ import annotations

from collections.abc import Sequence

from tripmargin.drills.refusals import DrillError
from tripmargin.drills.told import look_said, repair_said
from tripmargin.faultfinding import HAND_OVER, PROVE_AGAIN, MachineProblem, RepairWork
from tripmargin.faultfinding.suspects.looks import Question
from tripmargin.ground.errors import nearest
from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.own_words import as_written

_KINDS = {
    "state": (
        later("state"), later("no such state"), later("The list of states says what there is."),
    ),
    "look": (later("look"), later("no such look"), later("The list of looks says what there is.")),
    "repair": (
        later("repair"), later("no such repair"), later("The list of repairs says what there is."),
    ),
}  # fmt: skip
"""What is named, with what is said where there is none of the name."""


def looks_of(of: MachineProblem) -> tuple[str, ...]:
    """Ids of all looks; a look's number is its place here, from 1."""
    return tuple(of.questions)


def repairs_of(of: MachineProblem) -> tuple[str, ...]:
    """Ids of all repairs that mend something; a repair's number is its place here, from 1."""
    return tuple(name for name in of.works if name not in (PROVE_AGAIN, HAND_OVER))


def state_named(of: MachineProblem, text: str) -> int:
    """Number of a state, from 0.

    Raises
    ------
    DrillError
        If there is none of this name or number; the nearest is named.
    """
    return of.problem.states.index(_named("state", text, of.problem.states))


def look_named(of: MachineProblem, text: str, at: int) -> Question:
    """A look; the state in front of its name may be left out where the machine stands in it.

    Raises
    ------
    DrillError
        If there is none of this name or number; the nearest is named.
    """
    here = f"{of.problem.states[at]}: {text.strip()}".lower()
    names = looks_of(of)
    mine = next((name for name in names if name.lower() == here), None)
    return of.questions[mine or _named("look", text, names)]


def repair_named(of: MachineProblem, text: str) -> RepairWork:
    """A repair; "mend" in front of its name may be left out.

    Raises
    ------
    DrillError
        If there is none of this name or number; the nearest is named.
    """
    names, whole = repairs_of(of), f"mend {text.strip()}".lower()
    mine = next((name for name in names if name.lower() == whole), None)
    return of.works[mine or _named("repair", text, names)]


def _named(what: str, text: str, names: Sequence[str]) -> str:
    said = text.strip()
    lower = {_read(what, name).lower(): name for name in names}
    lower |= {name.lower(): name for name in names}
    if said.lower() in lower:
        return lower[said.lower()]
    if said.isdecimal() and said.isascii() and 1 <= int(said) <= len(names):
        return names[int(said) - 1]
    near = nearest(said.lower(), list(lower)) or _by_end(said.lower(), lower)
    kind, problem, there_is = _KINDS[what]
    hint = say(there_is)
    if near:
        hint = say("Did you mean {name!r}?", name=_to_type(what, lower[near]))
    allowed = say(
        "a number from 1 to {count}, or a name such as {name!r}",
        count=len(names), name=_to_type(what, names[0]),
    )  # fmt: skip
    raise DrillError(say(kind), said, say(problem), allowed, hint)


def _read(what: str, name: str) -> str:
    """A name as the reader's language has it: that may be typed too."""
    if what == "look":
        return look_said(name)
    return repair_said(name) if what == "repair" else as_written(name)


def _to_type(what: str, name: str) -> str:
    """A name as an error proposes it: "mend" is typed so in every language."""
    return name if what == "repair" else _read(what, name)


def _by_end(said: str, names: dict[str, str]) -> str | None:
    """The name whose part behind its state, or behind "mend", comes nearest."""
    ends = {name.partition(": ")[2] or name.removeprefix("mend "): name for name in names}
    near = nearest(said, list(ends))
    return ends[near] if near else None
