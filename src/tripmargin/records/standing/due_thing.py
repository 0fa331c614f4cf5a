"""One thing that is due: what, how urgent, why, what mends it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tripmargin.ground.languages import later, say

MEND_FIRST, BEFORE_WORK, SOON, NOTHING = 1, 2, 3, 4
URGENCIES = {
    MEND_FIRST: later("Mend first"),
    BEFORE_WORK: later("Before the next work"),
    SOON: later("Soon"),
    NOTHING: later("Nothing due"),
}


OPEN_CASE, GAP_IN_FILE = "open case", "gap in file"


@dataclass(frozen=True, slots=True)
class Due:
    """One thing that is due.

    Attributes
    ----------
    what : str
        One word for it, such as "daily check".
    urgency : int
        A key of `URGENCIES`.
    sentence : str
        Why, in plain words.
    since : datetime or None
        From when on; None: from the beginning.
    mend : str
        The kind of entry that mends it; empty: the machine's own page says what to do.
    """

    what: str
    urgency: int
    sentence: str
    since: datetime | None = None
    mend: str = ""

    @property
    def what_said(self) -> str:
        """The one word, for people."""
        words = {
            "daily check": say("daily check"),
            "missed metal": say("missed metal"),
            OPEN_CASE: say("open case"),
            "check after work": say("check after work"),
            "pawl gaps": say("pawl gaps"),
            GAP_IN_FILE: say("gap in file"),
            "stop time": say("stop time"),
            "protection": say("protection"),
            "clock": say("clock"),
        }
        return words.get(self.what, self.what)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready."""
        return {
            "what": self.what,
            "urgency": URGENCIES[self.urgency],
            "sentence": self.sentence,
            "since": self.since and self.since.isoformat(),
            "mend": self.mend,
        }
