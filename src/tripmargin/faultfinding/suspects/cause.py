"""One thing that may be wrong with a machine, and what is mended for it."""

from __future__ import annotations

from dataclasses import dataclass

from tripmargin.circuit import Fault
from tripmargin.faultfinding.suspects.physical import PhysicalFault
from tripmargin.ground.languages.phrases import Words


@dataclass(frozen=True, slots=True)
class Cause:
    """One fault, and what is mended for it.

    Attributes
    ----------
    id : str
    words : str or Phrase
        What a person calls it.
    mended : str
        A part's name, or a word such as "pawl springs".
    rate : float
        Per 1000 operating hours, of the fault at any strength.
    source : str
        Where the rate is from.
    fault : Fault or None
        In the circuit.
    physical : PhysicalFault or None
        Outside it.
    shows : float
        Share of looks in which the fault is there: 1 unless it comes and goes.
    share : float
        Share of the rate that comes at this strength; the strengths of a fault share it.
    strength_of : str
        Id of the listed fault that this is at another strength, empty where it is listed itself:
        in tables and on paper a fault stands once.
    at_any_strength : str or Phrase
        What a person calls it whatever its strength; empty where it has only one.
    """

    id: str
    words: Words
    mended: str
    rate: float
    source: str = "invented"
    fault: Fault | None = None
    physical: PhysicalFault | None = None
    shows: float = 1.0
    share: float = 1.0
    strength_of: str = ""
    at_any_strength: Words = ""

    @property
    def text(self) -> str:
        """What a person calls it, said now."""
        return str(self.words)

    @property
    def listed(self) -> bool:
        """Whether it stands in tables and on paper."""
        return not self.strength_of
