"""Where found metal really lay, against where the calculation says that it comes to rest."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tripmargin.ground.languages import say
from tripmargin.ground.units import shown
from tripmargin.records.standing.stamps import day_of
from tripmargin.records.store.models import Entry, Machine

LOOKED_AT = 20  # newest trips
SAME_CUT = 0.0005  # m; a cut length is told to the half millimetre


@dataclass(frozen=True, slots=True)
class Closer:
    """A trip after which the metal lay closer to the shear bar than the least calculated.

    Attributes
    ----------
    at : datetime
    left : float, m, from the metal to the shear bar
    cut : float or None, m; None: not entered, and compared with the least of all cuts on offer
    low, high : float, m, the margin's limits by calculation
    """

    at: datetime
    left: float
    cut: float | None
    low: float
    high: float

    def words(self, *, us: bool = False) -> str:
        """What it says, and what to do about it."""
        left, low, high = (
            shown(value, "length", us=us) for value in (self.left, self.low, self.high)
        )
        cut = say("every cut on offer")
        if self.cut is not None:
            cut = shown(self.cut, "length", us=us)
        return say(
            "On {day} the metal lay {left} from the shear bar. By calculation it is {low}"
            " to {high} at {cut}. The stop takes longer than the file says, or the metal"
            " was caught later: measure the stop time before you trust the verdict.",
            day=day_of(self.at),
            left=left,
            low=low,
            high=high,
            cut=cut,
        )


def closer_than_calculated(
    at: datetime, values: Mapping[str, Any], summary: Mapping[str, Any]
) -> Closer | None:
    """A trip's values against a proof's summary; None where nothing contradicts, or can.

    Parameters
    ----------
    at : datetime
    values : mapping
        Of a trip: "left_m", "cut_length_m".
    summary : mapping
        As `proving_versions` keeps it: its "cuts" with their margins.
    """
    left, cut = values.get("left_m"), values.get("cut_length_m")
    margins = [
        (one["cut_length_m"], one["margin_m"])
        for one in summary.get("cuts", ())
        if one.get("margin_m") and one["margin_m"]["low"] is not None
    ]
    if left is None or not margins:
        return None
    if cut is not None:
        margins = [(at_cut, m) for at_cut, m in margins if abs(at_cut - cut) <= SAME_CUT]
        if not margins:
            return None
    low = min(m["low"] for _, m in margins)
    high = max(m["high"] for _, m in margins)
    return Closer(at, left, cut, low, high) if left < low else None


def closer_trips(machine: Machine) -> tuple[Closer, ...]:
    """The newest trips that contradict the proof of the version that was in force, newest first."""
    trips = (
        Entry.objects.filter(machine=machine, kind="trip", corrected_by__isnull=True)
        .select_related("version__proof")
        .only("at", "values", "version__proof__summary")
        .order_by("-at", "-id")[:LOOKED_AT]
    )
    found = []
    for trip in trips:
        proof = getattr(trip.version, "proof", None)
        closer = closer_than_calculated(trip.at, trip.values, proof.summary) if proof else None
        if closer is not None:
            found.append(closer)
    return tuple(found)
