"""States, looks and repairs by what a person types: the name, part of it, or its number."""

from __future__ import annotations

from collections.abc import Sequence

from tripmargin.drills.refusals import DrillError
from tripmargin.faultfinding import HAND_OVER, PROVE_AGAIN, MachineProblem, RepairWork
from tripmargin.faultfinding.suspects.looks import Question
from tripmargin.ground.errors import nearest


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
    for name in names:
        if name.lower() == said.lower():
            return name
    if said.isdecimal() and said.isascii() and 1 <= int(said) <= len(names):
        return names[int(said) - 1]
    lower = {name.lower(): name for name in names}
    near = nearest(said.lower(), list(lower)) or _by_end(said.lower(), lower)
    hint = f"Did you mean {lower[near]!r}?" if near else f"The list of {what}s says what there is."
    allowed = f"a number from 1 to {len(names)}, or a name such as {names[0]!r}"
    raise DrillError(what, said, f"no such {what}", allowed, hint)


def _by_end(said: str, names: dict[str, str]) -> str | None:
    """The name whose part behind its state, or behind "mend", comes nearest."""
    ends = {name.partition(": ")[2] or name.removeprefix("mend "): name for name in names}
    near = nearest(said, list(ends))
    return ends[near] if near else None
