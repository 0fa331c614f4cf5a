"""A move of a drill, and what came of it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

GO, LOOK, MEND, TEST, HINT = "go", "look", "mend", "test", "hint"
DECLARE, HAND_OVER = "done", "hand over"
MOVES = (GO, LOOK, MEND, TEST, HINT, DECLARE, HAND_OVER)
"""What a learner may do: move the machine into a state, look or measure, mend, make the daily test,
ask for the best next card, declare it mended, hand it over."""
SECURE, MEASURE, TURN, PLACE = "secure", "measure", "turn", "place"
SETTING_MOVES = (SECURE, MEASURE, TURN, PLACE, HINT, DECLARE)
"""The same for one who sets pawls: bring the machine to rest and block it, measure a gap, turn a
clevis, place a clamp, ask, declare it set."""
ANSWER = "answer"
STOP_MOVES = (ANSWER,)
"""The same for one who is asked whether it would stop."""
ENDING = (DECLARE, HAND_OVER)
REFUSED, PASSED, FAILED = "refused: not safe", "passed", "failed"


@dataclass(frozen=True, slots=True)
class Move:
    """One move.

    Attributes
    ----------
    do : str
        One of `MOVES`, of `SETTING_MOVES` or of `STOP_MOVES`.
    what : str
        The state, the look, the repair, the pawl or the answer; empty for the others.
    came : str
        What came of it.
    minutes : float
        What it cost, the price of parts counted as minutes.
    price : float
        Of parts, in the machine file's currency.
    wrong_module : bool
        A module was replaced whole that held nothing of the fault.
    caution : str
        The caution that it breaks, where it was refused.
    why : str
        What is not safe about it, where it was refused; of a hint, what it said.

    Every text is English, whatever is spoken, for moves are kept and compared; `told.said` says
    `came`, `caution` and `why` in the reader's language.
    """

    do: str
    what: str
    came: str
    minutes: float = 0.0
    price: float = 0.0
    wrong_module: bool = False
    caution: str = ""
    why: str = ""

    @property
    def unsafe(self) -> bool:
        """Whether it was refused because it is not safe."""
        return bool(self.caution)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready: minutes, prices of the machine file's currency."""
        return {
            name: str(each) if isinstance(each, str) else each
            for name, each in asdict(self).items()
        }
