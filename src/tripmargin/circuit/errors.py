"""What can be wrong with a circuit, said so that the person can mend it."""

from __future__ import annotations

from collections.abc import Sequence

from tripmargin.ground.errors import Problem, TripmarginError, nearest


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
            f"No solution: {', '.join(self.parts) or 'the network'} cannot settle.\n"
            "  Look for a part without resistance, or for one with a negative value, near there."
        )


def problem(field: str, value: object, what: str, allowed: str = "", hint: str = "") -> Problem:
    """One problem of a circuit; the place is the part's name."""
    return Problem("circuit", None, field, "" if value is None else str(value), what, allowed, hint)


def unknown(field: str, word: str, known: Sequence[str], what: str) -> Problem:
    """A word that names nothing, with the nearest that does.

    >>> print(unknown("K1.coil", "K1_COL", ["K1_COIL", "R1"], "part"))
    circuit: K1.coil = K1_COL: there is no such part.
      Allowed: K1_COIL, R1.
      Did you mean "K1_COIL"?
    """
    like = nearest(word, known)
    return problem(
        field,
        word,
        f"there is no such {what}",
        ", ".join(known[:12]) + (", ..." if len(known) > 12 else "") if known else "none here",
        f'Did you mean "{like}"?' if like else "",
    )
