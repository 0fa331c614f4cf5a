"""The noise of a quiet run that the log has: of the newest note that the noise's page wrote."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from tripmargin.ground.languages import known_languages, language, say, speaking
from tripmargin.records.standing.in_force import entries_in_force
from tripmargin.records.store.models import Machine
from tripmargin.web.measuring.noise_rows import FLOOR, LIMITS, TURNING

_NUMBER = r"(\d+(?:[.,]\d+)?(?:e[+-]?\d+)?) mV"
_STANDS_ON = "SHA-256 "  # of the recording; whatever language the note is in
_MOST = 1e3  # V


@dataclass(frozen=True, slots=True)
class NotedNoise:
    """The noise as a run had it, V rms at the amplifier's output.

    Attributes
    ----------
    uid, at, who
        Of the note.
    floor : (low, middle, high)
    turning : float or None
        What comes again at each turn of the roll; None where the run had no turns.
    """

    uid: UUID
    at: datetime
    who: str
    floor: tuple[float, float, float]
    turning: float | None

    @property
    def settings(self) -> dict[str, str]:
        """As a machine file says it.

        What turns with the roll is taken as one sine of its rms: its peak is 2 ** 0.5 times that.
        """
        low, middle, high = self.floor
        half = max(high - middle, middle - low)
        made = {"detector.noise": f"{middle:.4g} V +- {half:.3g} V"}
        if self.turning is not None:
            made["detector.ripple"] = f"{2**0.5 * self.turning:.4g} V"
        return made


def noted_noise(machine: Machine) -> NotedNoise | None:
    """The newest in the log; None where there is none that can be read."""
    notes = entries_in_force(machine, "note").filter(note__contains=_STANDS_ON)
    for one in notes.order_by("-at", "-pk"):
        found = noise_of_note(str(one.values.get("text", "")))
        if found is not None:
            return NotedNoise(one.uid, one.at, one.who_name, *found)
    return None


def noise_of_note(text: str) -> tuple[tuple[float, float, float], float | None] | None:
    """Floor with its limits, and what turns with the roll, V rms; None where it says none.

    >>> noise_of_note("Noise floor, rms: 70 mV (69 mV to 71 mV).")
    ((0.069, 0.07, 0.071), None)
    """
    floor, turning = _line(text, FLOOR), _line(text, TURNING)
    if floor is None:
        return None
    middle, low, high = (_volts(each) for each in floor.groups())
    if not 0 < low <= middle <= high <= _MOST:
        return None
    turns = None if turning is None else _volts(turning[1])
    return (low, middle, high), turns if turns is None or turns <= _MOST else None


def _line(text: str, what: str) -> re.Match[str] | None:
    """The line of a note that says this, in whatever language it was written."""
    for code in dict.fromkeys([language(), *known_languages()]):
        with speaking(code):
            limits = say(LIMITS, low="<n>", high="<n>")
            line = say("{what}: {value} ({limits}).", what=say(what), value="<n>", limits=limits)
        pattern = re.escape(line).replace("<n>", _NUMBER)
        if found := re.search(rf"^{pattern}$", text, re.MULTILINE):
            return found
    return None


def _volts(millivolts: str) -> float:
    return float(millivolts.replace(",", ".")) / 1e3
