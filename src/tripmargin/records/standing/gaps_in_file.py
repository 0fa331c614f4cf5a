"""Pawl gaps as last measured, against those of the machine's file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from tripmargin.ground.languages import say
from tripmargin.ground.units import shown
from tripmargin.records.standing.facts import Facts
from tripmargin.records.standing.meanings import ALIKE
from tripmargin.records.standing.measured import FEELER
from tripmargin.records.standing.pawl_names import pawl_said
from tripmargin.records.standing.stamps import day_of, moment, written_at


@dataclass(frozen=True, slots=True)
class MeasuredGap:
    """The newest measured gap of a pawl, beside the file's.

    Attributes
    ----------
    pawl : str
    uid : str
        Of the entry that it is from.
    at : datetime
    gap : float, m
        As it was left.
    step : float, m
        Of the feeler gauge.
    step_assumed : bool
        Whether the entry does not give it.
    filed : (nominal, low, high) or None, m
        By the file; None: it does not give the gap.
    """

    pawl: str
    uid: str
    at: datetime
    gap: float
    step: float
    step_assumed: bool
    filed: tuple[float, float, float] | None

    @property
    def is_other(self) -> bool:
        """Whether the file has not just this gap."""
        return self.filed is None or abs(self.gap - self.filed[0]) > ALIKE

    @property
    def is_apart(self) -> bool:
        """Whether it lies beyond the file's tolerance, and what half a step of the gauge hides."""
        if self.filed is None:
            return False
        _, low, high = self.filed
        return not low - self.step / 2 - ALIKE <= self.gap <= high + self.step / 2 + ALIKE

    def words(self, *, us: bool = False) -> str:
        """Both: "The log says 4.1 mm for the lower pawl (2026-05-03), the file 3.5 mm."."""
        gap = shown(self.gap, "length", us=us)
        values = {"gap": gap, "pawl": pawl_said(self.pawl), "day": day_of(self.at)}
        if self.filed is None:
            return say(
                "The log says {gap} for the {pawl} pawl ({day}), the file nothing.", **values
            )
        filed = shown(self.filed[0], "length", us=us)
        return say(
            "The log says {gap} for the {pawl} pawl ({day}), the file {filed}.",
            filed=filed,
            **values,
        )


def measured_gaps(facts: Facts, now: datetime) -> tuple[MeasuredGap, ...]:
    """The newest measured gap of each pawl of the file; without those of a time to come."""
    asked = facts["asked"]
    if not asked:
        return ()
    found = []
    for pawl in asked["pawls"]:
        gap = facts["gaps"].get(pawl)
        if gap is None or gap["m"] is None or moment(gap, now) is None:
            continue
        filed, step = asked["set_gaps_m"].get(pawl), gap["step_m"]
        found.append(
            MeasuredGap(
                pawl, gap["uid"], written_at(gap), float(gap["m"]), step or FEELER, not step,
                tuple(filed) if filed else None,
            )
        )  # fmt: skip
    return tuple(found)


def to_be_filed(facts: Facts, now: datetime) -> tuple[MeasuredGap, ...]:
    """Gaps that lie apart from the file's; not one outside the window, which is to be set anew."""
    if not facts["asked"]:
        return ()
    low, high = facts["asked"]["clearance_m"]
    return tuple(g for g in measured_gaps(facts, now) if g.is_apart and low <= g.gap <= high)


def outside_window(facts: Facts, now: datetime) -> tuple[MeasuredGap, ...]:
    """Newest gaps that lie outside the window of the file: they are to be set anew."""
    if not facts["asked"]:
        return ()
    low, high = facts["asked"]["clearance_m"]
    return tuple(g for g in measured_gaps(facts, now) if not low <= g.gap <= high)


def all_words(gaps: Sequence[MeasuredGap], *, us: bool = False) -> str:
    """What log and file say of some gaps, in sentences."""
    return " ".join(
        [
            *(gap.words(us=us) for gap in gaps),
            say("Map and verdict are worked out with the file's."),
        ]
    )
