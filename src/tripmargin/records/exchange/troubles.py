"""Everything that is wrong with a file of entries, each with its line and column."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from tripmargin.ground.errors import Problem, TripmarginError, shortened
from tripmargin.ground.languages import say, say_many
from tripmargin.records.kinds import Wrong

MOST, LONGEST_FIELD = 50, 120


class ImportRefusedError(TripmarginError, ValueError):
    """A file that cannot be taken as it stands; nothing was written.

    `.problems` holds what was found, at most `MOST`; `.more` whether the reading stopped there;
    `.unknown` the machines that are not in the records, each with the number of its entries so far:
    only the first entry of each is among the problems.
    """

    def __init__(
        self,
        problems: Iterable[Problem],
        *,
        more: bool = False,
        unknown: Mapping[str, int] | None = None,
    ) -> None:
        self.problems, self.more, self.unknown = tuple(problems), more, dict(unknown or {})
        count = len(self.problems)
        if more:
            end = say("The first {count} problems. Nothing was written.", count=count)
        else:
            end = say_many(
                "1 problem. Nothing was written.",
                "{count} problems. Nothing was written.",
                count,
            )
        further = [
            say('The machine "{name}" stands in {rows} entries.', name=shortened(name), rows=rows)
            for name, rows in self.unknown.items()
            if rows > 1
        ]
        told = [*map(str, self.problems), *further, end]
        super().__init__("\n".join(told))


class Troubles:
    """Collects what is wrong in one file, and stops the reading where it is enough."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.problems: list[Problem] = []
        self.unknown: Counter[str] = Counter()

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
            field = shortened(one.field, LONGEST_FIELD)
            self.problems.append(
                Problem(self.file, line, field, value, problem, one.allowed, one.hint)
            )
            if len(self.problems) >= MOST:
                raise ImportRefusedError(self.problems, more=True, unknown=self.unknown)

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
            raise ImportRefusedError(self.problems, unknown=self.unknown)
