"""What closes a contact: a hand, a relay, the detector's module, or the plunger."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class BySwitch:
    """Closed while the named switch stands in one of the positions (or, `unless`, in none)."""

    switch: str
    positions: frozenset[str]
    unless: bool = False

    def closed(self, position: str) -> bool:
        """Whether the contact is closed in a position.

        >>> BySwitch("shift", frozenset({"reverse"}), unless=True).closed("neutral")
        True
        """
        return (position in self.positions) != self.unless


@dataclass(frozen=True, slots=True)
class ByRelay:
    """A relay's contact: make (30 to 87) closed while pulled, break (30 to 87a) while at rest."""

    relay: str
    make: bool = True


MODULE_OUTPUTS = ("out", "pull", "l_ok", "l_low", "l_trip")
"""What a detector's module can switch: the trip output (on while not tripped), the pull output,
and its lamps for supply in range, supply low, and tripped."""


@dataclass(frozen=True, slots=True)
class ByModule:
    """A switching output of the detector's module, one of `MODULE_OUTPUTS`."""

    output: str


@dataclass(frozen=True, slots=True)
class ByPlunger:
    """The end-of-travel switch: closed while the plunger is out, opened by it at the end."""


Mover = BySwitch | ByRelay | ByModule | ByPlunger
