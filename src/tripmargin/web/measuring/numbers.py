"""Number boxes of a form: what was typed stays, the trouble stands beside it, a comma is mended."""

from __future__ import annotations

from dataclasses import dataclass, field

from tripmargin.ground.decimal_commas import meant_by, typed
from tripmargin.ground.errors import shortened
from tripmargin.ground.languages import say
from tripmargin.web.measuring.plain_words import grouped


@dataclass(slots=True)
class Number:
    """One box.

    Attributes
    ----------
    name, label, unit, help
        As shown.
    low, high
        In the unit of the box.
    text
        As typed.
    whole, required
        Whether only a whole number, or nothing, may stand in it.
    guess
        What was put into it, where nobody typed: sent back the same, it says nothing.
    """

    name: str
    label: str
    unit: str
    low: float
    high: float
    text: str = ""
    whole: bool = False
    required: bool = True
    help: str = ""
    guess: str = ""
    troubles: list[str] = field(default_factory=list)
    shape = "number"

    @property
    def id(self) -> str:
        """Of its box."""
        return self.name.replace(".", "-").replace(" ", "-")

    @property
    def keyboard(self) -> str:
        """The phone's keyboard; the one of digits has no minus on some phones."""
        return "decimal" if self.low >= 0 else "text"

    @property
    def mends(self) -> tuple[str, ...]:
        """What may be meant by a number with a comma."""
        return tuple(one for one in meant_by(typed(self.text)) if not (self.whole and "." in one))

    def read(self) -> float | None:
        """The number; None where there is none, and then its trouble is noted if it is needed."""
        said = typed(self.text.strip())
        if not said:
            if self.required:
                words = say("Needed, and left empty.\nAllowed: {allowed}.", allowed=self._allowed)
                self.troubles.append(words)
            return None
        bare = said.lstrip("-").replace(".", "", 1)
        if "," in said and (self.mends or self.whole):
            words = say("A comma inside a number. Is it a decimal point?")
            if self.whole:
                words = say("A comma inside a number. Allowed: {allowed}.", allowed=self._allowed)
            self.troubles.append(words)
        elif not (bare.isascii() and bare.isdecimal()) or (self.whole and "." in said):
            told = {"seen": shortened(self.text.strip(), 30), "allowed": self._allowed}
            words = say("Not a number: “{seen}”.\nAllowed: {allowed}.", **told)
            if self.whole:
                words = say("Not a whole number: “{seen}”.\nAllowed: {allowed}.", **told)
            self.troubles.append(words)
        elif not self.low <= float(said) <= self.high:
            self.troubles.append(
                say(
                    "Out of range: {seen}.\nAllowed: {allowed}.",
                    seen=f"{shortened(self.text.strip(), 30)}{self._unit}",
                    allowed=self._allowed,
                )
            )
        else:
            return float(said)
        return None

    @property
    def _unit(self) -> str:
        return f" {self.unit}" if self.unit else ""

    @property
    def _allowed(self) -> str:
        low, high = (f"{grouped(end)}{self._unit}" for end in (self.low, self.high))
        if self.whole:
            return say("a whole number from {low} to {high}", low=low, high=high)
        return say("from {low} to {high}", low=low, high=high)
