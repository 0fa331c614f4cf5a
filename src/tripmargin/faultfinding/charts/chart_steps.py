"""A fault chart as it is handed out: complaints, numbered steps, branches, states."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from tripmargin.faultfinding.charts.alike import Alike
from tripmargin.faultfinding.deciding.troubles import ProblemError
from tripmargin.ground.languages import say


@dataclass(frozen=True, slots=True)
class Branch:
    """One answer at a step: its chance among those who come there, and where to go on.

    `to` is a step's number, or None where the chart ends: `end` then says how.
    """

    word: str
    chance: float
    to: int | None
    end: str
    sound: bool


@dataclass(frozen=True, slots=True)
class Likely:
    """A hypothesis and the chance of it among those who come to a step."""

    id: str
    text: str
    chance: float


@dataclass(frozen=True, slots=True)
class ChartStep:
    """A numbered step.

    Attributes
    ----------
    id : int
        From 1, in its complaint.
    kind : str
        "look", "repair" or "test" (the daily test alone).
    action : str
        The look's or the repair's id.
    cautions : tuple of str
        To be read first.
    state : str
    way : tuple of str
        How to bring the machine into the state, from rest.
    do, place : str
    minutes : float
        Of a look alone, or of the work of a repair.
    moving_minutes : float
        To bring the machine into the state, on average over the ways here.
    chance : float
        Share of the complaint's cases that come here.
    branches : tuple of Branch
        Their chances sum to 1.
    likely : tuple of Likely
        What is believed here, the likeliest first.
    cure : float
        Chance that a repair cures; 0 for a look.
    price : float
    module : bool
        Whether a module is replaced whole.
    also : tuple of str
        What to look at after the daily test passed, as it leaves that open; "daily test" means once
        more.
    """

    id: int
    kind: str
    action: str
    cautions: tuple[str, ...]
    state: str
    way: tuple[str, ...]
    do: str
    place: str
    minutes: float
    moving_minutes: float
    chance: float
    branches: tuple[Branch, ...]
    likely: tuple[Likely, ...]
    cure: float = 0.0
    price: float = 0.0
    module: bool = False
    also: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ComplaintChart:
    """The numbered steps of one complaint.

    Attributes
    ----------
    complaint, says : str
        In a few words, and in a sentence.
    share : float
        Of all cases.
    steps : tuple of ChartStep
        Empty where nothing is worth a step on paper.
    leads : float
        Share of its cases that the steps lead to a repair that cures, with slips and "can't tell"
        as the machine file has them.
    leads_without_slips : float
        The same with every look made and read rightly.
    """

    complaint: str
    says: str
    share: float
    steps: tuple[ChartStep, ...]
    leads: float
    leads_without_slips: float


@dataclass(frozen=True, slots=True)
class ChartState:
    """A state that steps ask for: what a person does to come here from the state before."""

    name: str
    after: str
    do: str


@dataclass(frozen=True, slots=True)
class Chart:
    """The fault chart of a machine.

    Attributes
    ----------
    machine_name : str
    daily : str
        The path that proves the machine after every repair.
    wrong, cannot_tell : float
        Shares of looks that go wrong, and that end with "can't tell".
    least : float
        Share of all cases below which a branch is left to the tool.
    complaints : tuple of ComplaintChart
    states : tuple of ChartState
        In the machine file's order; the machine at rest has nothing before it.
    alike : Alike
        Which faults look the same from outside.
    rates : tuple of str
        Where the rates come from.
    """

    machine_name: str
    daily: str
    wrong: float
    cannot_tell: float
    least: float
    complaints: tuple[ComplaintChart, ...]
    states: tuple[ChartState, ...]
    alike: Alike
    rates: tuple[str, ...]

    def of(self, complaint: str) -> ComplaintChart:
        """One complaint's steps.

        Raises
        ------
        ProblemError
            If this machine's chart has no such complaint.
        """
        for each in self.complaints:
            if each.complaint == complaint:
                return each
        known = ", ".join(each.complaint for each in self.complaints)
        raise ProblemError("complaint", complaint, say("this chart does not have it"), known)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready: minutes, shares from 0 to 1."""
        return asdict(self)
