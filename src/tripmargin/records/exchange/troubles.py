"""Everything that is wrong with a file of entries, each with its line and column."""

from __future__ import annotations

from collections.abc import Iterable

from tripmargin.ground.errors import Problem, TripmarginError, shortened
from tripmargin.records.kinds import Wrong

MOST = 50


class ImportRefusedError(TripmarginError, ValueError):
    """A file that cannot be taken as it stands; nothing was written.

    `.problems` holds what was found, at most `MOST`; `.more` whether the reading stopped there.
    """

    def __init__(self, problems: Iterable[Problem], *, more: bool = False) -> None:
        self.problems, self.more = tuple(problems), more
        count = len(self.problems)
        end = f"The first {count} problems" if more else f"{count} problem{'s' * (count != 1)}"
        super().__init__("\n".join([*map(str, self.problems), f"{end}. Nothing was written."]))


class Troubles:
    """Collects what is wrong in one file, and stops the reading where it is enough."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.problems: list[Problem] = []

    def note(self, line: int | None, wrong: Iterable[Wrong]) -> None:
        """Add what is wrong at a line.

        Raises
        ------
        ImportRefusedError
            At the fiftieth problem.
        """
        for one in wrong:
            value = f'"{shortened(one.value)}"' if one.value else ""
            problem = one.problem.removesuffix(".")
            self.problems.append(
                Problem(self.file, line, one.field, value, problem, one.allowed, one.hint)
            )
            if len(self.problems) >= MOST:
                raise ImportRefusedError(self.problems, more=True)

    def stop(self, line: int | None, problem: str, allowed: str = "", hint: str = "") -> None:
        """Add what nothing after it can be read past, and raise all.

        Raises
        ------
        ImportRefusedError
            Always.
        """
        self.problems.append(Problem(self.file, line, "", "", problem, allowed, hint))
        self.raise_if_any()

    def raise_if_any(self) -> None:
        """Raise what was found, if anything was."""
        if self.problems:
            raise ImportRefusedError(self.problems)
