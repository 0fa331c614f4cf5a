"""What can be wrong with a problem, or with what was found, said so that a person can mend it."""

from __future__ import annotations

from tripmargin.ground.errors import TripmarginError, shortened
from tripmargin.ground.languages import say


class ProblemError(TripmarginError, ValueError):
    """A fault-finding problem, or a history of it, that cannot be used as it stands.

    `.where` is the place in the problem, `.value` what stands there, `.allowed` what would do and
    `.hint` how to mend it.
    """

    def __init__(
        self, where: str, value: object, problem: str, allowed: str, hint: str = ""
    ) -> None:
        self.where, self.value, self.problem = where, value, problem
        self.allowed, self.hint = allowed, hint
        seen = "" if value is None else f" = {shortened(repr(value))}"
        lines = [f"{where}{seen}: {problem}.", say("  Allowed: {allowed}.", allowed=allowed)]
        super().__init__("\n".join([*lines, f"  {hint}"] if hint else lines))


class ContradictionError(ProblemError):
    """Findings that no hypothesis of the problem can explain, and there is no 'something else'."""
