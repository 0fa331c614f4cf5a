"""What is wrong with a measured gap, said so that the person at the machine can go on."""

from __future__ import annotations

from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say


class SettingError(TripmarginError, ValueError):
    """A gap, or a past setting, from which nothing can be planned.

    `.what` says which, `.value` what was seen, `.problem` what is wrong with it, `.allowed` what
    would do, `.hint` what to look at.
    """

    def __init__(self, what: str, value: str, problem: str, allowed: str, hint: str = "") -> None:
        self.what, self.value, self.problem = what, value, problem
        self.allowed, self.hint = allowed, hint
        seen = f"{what} = {value}" if value else what
        text = say(
            "{what}: {problem}.\n  Allowed: {allowed}.",
            what=seen,
            problem=problem,
            allowed=allowed,
        )
        super().__init__(f"{text}\n  {hint}" if hint else text)
