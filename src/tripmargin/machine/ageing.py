"""What was measured, and how much less sure it is by now."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from tripmargin.ground.quantities import Quantity
from tripmargin.ground.results import plain
from tripmargin.machine.fields import Spec, all_fields
from tripmargin.machine.measured_section import SEASON, MeasuredField, day_of, drift_of
from tripmargin.machine.model import Machine


@dataclass(frozen=True, slots=True)
class MeasuredInput:
    """One input that was measured.

    Attributes
    ----------
    field, on, by, how
        As the file says.
    seasons
        Years since, 0 or more.
    filed
        The value as filed.
    now
        The value as used: its limits widened by its drift for each year.
    drift
        As the file writes it; None where it says none, and `now` is `filed`.
    """

    field: str
    on: date
    by: str | None
    how: str | None
    seasons: float
    filed: Quantity
    now: Quantity
    drift: str | None

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return dict(
            plain(
                {
                    "field": self.field,
                    "on": self.on.isoformat(),
                    "by": self.by,
                    "how": self.how,
                    "seasons": self.seasons,
                    "filed": self.filed,
                    "now": self.now,
                    "drift": self.drift,
                }
            )
        )


def aged(machine: Machine, on: date) -> tuple[Machine, tuple[MeasuredInput, ...]]:
    """The machine as it may be on a day, and what was measured of it.

    Limits between which all is alike move out by the drift. A normal distribution takes the drift
    as limits of a second doubt: sd^2 + drift^2 / 3 (JCGM 100:2008, 4.3.7 and 5.1.2). A value that a
    what-if changed is no longer the measured one, and is left out. A day before the measurement
    ages nothing.
    """
    if machine.measured is None:
        return machine, ()
    found = [
        _input(machine, entry, on)
        for entry in machine.measured.fields
        if entry.field not in machine.changed
    ]
    wider = {each.field: each.now for each in found if each.now is not each.filed}
    if not wider:
        return machine, tuple(found)
    changed = machine.changed
    return replace(machine.with_settings(wider), changed=changed), tuple(found)


def _input(machine: Machine, entry: MeasuredField, on: date) -> MeasuredInput:
    filed: Quantity = machine.get(entry.field)
    seasons = max((on - day_of(entry.on)).days / SEASON, 0.0)
    out = 0.0 if entry.drift is None else drift_of(entry.drift, filed) * seasons
    now = _widened(filed, out, _spec(entry.field)) if out > 0 else filed
    return MeasuredInput(
        entry.field, day_of(entry.on), entry.by, entry.how, seasons, filed, now, entry.drift
    )


def _widened(value: Quantity, out: float, spec: Spec | None) -> Quantity:
    if value.shape == "normal":
        half = 2 * (value.sd**2 + out**2 / 3) ** 0.5
        made = replace(value, low=value.nominal - half, high=value.nominal + half)
        return replace(made, text=made.written())
    least = spec.low if spec is not None and spec.low is not None else -float("inf")
    most = spec.high if spec is not None and spec.high is not None else float("inf")
    low = max(value.low - out, min(least, value.low))
    high = min(value.high + out, max(most, value.high))
    # Between limits the middle is the nominal (models page), also where one limit can't move out.
    made = replace(value, nominal=(low + high) / 2, low=low, high=high, shape="rectangular")
    return replace(made, text=made.written())


def _spec(path: str) -> Spec | None:
    """What the file's format says of a field: its range."""
    parts = path.split(".")
    for one in all_fields():
        names = one.path.replace("[]", "").split(".")
        if names[-1] == parts[-1] and _below(names, parts):
            return one.spec
    return None


def _below(names: list[str], parts: list[str]) -> bool:
    """Whether a field's path is that of the format, the names of tables left out."""
    rest = iter(parts)
    return all(any(part == name for part in rest) for name in names if not name.startswith("<"))
