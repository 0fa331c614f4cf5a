"""What can be wrong with a circuit, said so that the person can mend it."""

from __future__ import annotations

from collections.abc import Sequence

from tripmargin.ground.errors import Problem, TripmarginError, nearest
from tripmargin.ground.languages import later, say


class CircuitError(TripmarginError, ValueError):
    """A circuit that cannot be solved as it is written down.

    `.problems` holds every problem found; `.field`, `.value`, `.allowed` and `.hint` are those of
    the first. The field is the part, or the part and its terminal.
    """

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        first = self.problems[0]
        self.field, self.value = first.field, first.value
        self.allowed, self.hint = first.allowed, first.hint
        super().__init__("\n".join(str(problem) for problem in self.problems))


class NoSolutionError(TripmarginError):
    """A circuit whose diodes find no state that agrees with itself; `.parts` names them."""

    def __init__(self, parts: Sequence[str]) -> None:
        self.parts = tuple(parts)
        super().__init__(
            say(
                "No solution: {parts} cannot settle.\n  Look for a part without resistance, or for"
                " one with a negative value, near there.",
                parts=", ".join(self.parts) or say("the network"),
            )
        )


def problem(field: str, value: object, what: str, allowed: str = "", hint: str = "") -> Problem:
    """One problem of a circuit; the place is the part's name."""
    return Problem("circuit", None, field, "" if value is None else str(value), what, allowed, hint)


NO_SUCH = {
    "part": later("there is no such part"),
    "node": later("there is no such node"),
    "terminal": later("there is no such terminal"),
    "fault": later("there is no such fault"),
    "fault in this table": later("there is no such fault in this table"),
    "step": later("there is no such step"),
    "step in this table": later("there is no such step in this table"),
    "element": later("there is no such element"),
    "way to move a contact": later("there is no such way to move a contact"),
    "kind of change": later("there is no such kind of change"),
    "relay": later("there is no such relay"),
    "contact": later("there is no such contact"),
    "way to lock": later("there is no such way to lock"),
    "fault behaviour": later("there is no such fault behaviour"),
    "output of the module": later("there is no such output of the module"),
    "operation": later("there is no such operation"),
}
"""What a word may fail to name."""


def unknown(field: str, word: str, known: Sequence[str], what: str) -> Problem:
    """A word that names nothing, with the nearest that does; `what` is one of `NO_SUCH`.

    >>> print(unknown("K1.coil", "K1_COL", ["K1_COIL", "R1"], "part"))
    circuit: K1.coil = K1_COL: there is no such part.
      Allowed: K1_COIL, R1.
      Did you mean "K1_COIL"?
    """
    like = nearest(word, known)
    return problem(
        field,
        word,
        say(NO_SUCH[what]),
        ", ".join(known[:12]) + (", ..." if len(known) > 12 else "") if known else say("none here"),
        say('Did you mean "{like}"?', like=like) if like else "",
    )
