"""What a machine's log has against it, on the first page of its commissioning report."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from tripmargin.ground.languages import say
from tripmargin.machine import Machine
from tripmargin.reports.paper.document import Block, Verdict

NOT, DOUBTFUL = "not", "doubtful"
"""States by the log that are told before the calculation, as `records.standing.state` has them."""


@dataclass(frozen=True, slots=True)
class ByLog:
    """How the machine stands by its log alone.

    Attributes
    ----------
    state : "protected", "doubtful", "not known" or "not"
    reasons : tuple of str
        Why, in sentences.
    """

    state: str
    reasons: tuple[str, ...]

    @property
    def is_against(self) -> bool:
        """Whether the log outweighs a calculation that says "protected"."""
        return self.state in (NOT, DOUBTFUL)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready."""
        return {"state": self.state, "reasons": list(self.reasons)}


def by_log_part(machine: Machine, by_log: ByLog | None) -> Iterator[Block]:
    """What the log has against the machine, before any calculation is read."""
    if by_log is None or not by_log.is_against:
        return
    if by_log.state == NOT:
        word = say("{machine}: not protected, by its log. Mend first.", machine=machine.name)
        so = say(
            "The calculation below does not count until this is mended and a check has passed."
        )
    else:
        word = say("{machine}: doubtful, by its log", machine=machine.name)
        so = say("The calculation below alone does not count.")
    yield Verdict(word, [*by_log.reasons, so])
