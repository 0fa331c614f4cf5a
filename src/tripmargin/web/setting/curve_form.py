"""What is asked of the threshold's curve: which noise, how many false trips, which threshold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any
from urllib.parse import urlencode

from tripmargin.ground.decimal_commas import typed
from tripmargin.ground.languages import language, numeral, say
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.protection.setting.threshold import ALLOWED, ThresholdWork
from tripmargin.records.keeping.machines import machine_of
from tripmargin.records.store.models import MachineVersion
from tripmargin.web.measuring.numbers import Number
from tripmargin.web.measuring.said import Choice
from tripmargin.web.setting.noise_noted import NotedNoise

LOG, FILE = "log", "file"
LEAST, MOST = 0.001, 1000.0  # V


@dataclass(slots=True)
class CurveForm:
    """The boxes, what was read from them, and the machine that it is asked of."""

    hours: Number
    at: Number
    noise: Choice | None
    noted: NotedNoise | None
    allowed: float = ALLOWED
    threshold: float | None = None

    @classmethod
    def of(cls, said: Mapping[str, str], noted: NotedNoise | None) -> CurveForm:
        """As the address has it, read; what cannot be is told beside its box."""
        hours = Number(
            "hours", say("Hours in which one false trip by noise is put up with"), "h", 0.01, 1e6,
            said.get("hours", ""), required=False,
            help=say(
                "Left empty: {hours:g} h, common practice, no source.", hours=1 / ALLOWED
            ),
        )  # fmt: skip
        at = Number(
            "at", say("Another threshold to look at"), "V", LEAST, MOST, said.get("at", ""),
            required=False, help=say("Or pick one from the table."),
        )  # fmt: skip
        noise = None
        if noted is not None:
            day = f"{noted.at:%Y-%m-%d}"
            in_log = say("as measured on {day} by somebody", day=day)
            if noted.who:
                in_log = say("as measured on {day} by {who}", day=day, who=noted.who)
            options = [(LOG, in_log), (FILE, say("as the machine's file says"))]
            noise = Choice("noise", say("The noise"), options, said.get("noise") or LOG,
                           say("Measured: a quiet run that is in the log."))  # fmt: skip
        made = cls(hours, at, noise, noted)
        read = made.hours.read()
        made.allowed = ALLOWED if read is None else 1 / read
        made.threshold = made.at.read()
        for box, value in ((made.hours, read), (made.at, made.threshold)):
            if value is not None:  # from an address, which has points
                box.text = numeral(value, ".6g")
        if noise is not None:
            noise.read()
        return made

    @property
    def good(self) -> bool:
        """Whether nothing is wrong."""
        wrong = self.noise.troubles if self.noise is not None else []
        return not (self.hours.troubles or self.at.troubles or wrong)

    @property
    def measured(self) -> bool:
        """Whether the log's noise is taken."""
        return self.noise is not None and self.noise.text == LOG

    @property
    def settings(self) -> dict[str, str]:
        """What differs from the machine's file."""
        return self.noted.settings if self.noted is not None and self.measured else {}

    def query(self, at: float | None = None) -> str:
        """The address's part that asks the same, of another threshold where one is given."""
        said: dict[str, Any] = {"hours": typed(self.hours.text.strip())}
        if self.noise is not None:
            said["noise"] = self.noise.text
        said["at"] = typed(self.at.text.strip()) if at is None else f"{at:.4g}"
        return urlencode({key: text for key, text in said.items() if text})

    def key(self, version: MachineVersion) -> tuple[object, ...]:
        """Of the curve: changes with all that it hangs on."""
        return (version.digest, tuple(self.settings.items()), self.allowed, language())

    def work(self, version: MachineVersion) -> ThresholdWork:
        """The curve: seconds.

        Raises
        ------
        NotKnownError, MachineFileError
            If the machine's file lacks what it needs, or the noted noise cannot be.
        """
        return ThresholdWork(self.machine(version), allowed=self.allowed)

    def machine(self, version: MachineVersion) -> LoadedMachine:
        """The version's machine with the noise that is taken."""
        loaded = machine_of(version)
        if not self.settings:
            return loaded
        made = loaded.with_settings(self.settings)
        # What was measured is assumed no more.
        assumed = tuple(a for a in made.assumed if a not in self.settings)
        return replace(made, assumed=assumed)
