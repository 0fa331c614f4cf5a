"""One stop to be played: its stages on one clock, and where the metal is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from math import isfinite, sqrt

from tripmargin.pictures.lanes import Lane, lanes_of
from tripmargin.reports.how.inputs import Values
from tripmargin.sensing import Pass
from tripmargin.stopping import Stage

LEAD = 0.07  # m of the metal's way that is shown before the signal crosses
UNCAUGHT = 0.12  # m before the sensor's axis, where the way of a piece that trips nothing begins
_SHORT = 0.04  # m before the shear bar, of a mark in the crop where the feed stands
_BEYOND = 0.05  # m past the shear bar, of metal that nothing stops


@dataclass(frozen=True)
class Run:
    """One stop: its stages, speeds and places.

    Attributes
    ----------
    cut_length : float, m
    stages : tuple of Stage
    roll_speed, metal_speed : float, m/s
    start : float, m
        Place of the metal, or of a mark in the crop, at the instant 0.
    bar : float, m
        Place of the shear bar.
    seen : Pass or None
    lost : bool
        Whether the supply is cut at the instant 0, instead of a signal that crosses.
    us : bool
        Whether it is told in US units.
    """

    values: Values
    cut_length: float
    stages: tuple[Stage, ...]
    roll_speed: float
    metal_speed: float
    start: float
    bar: float
    seen: Pass | None = None
    lost: bool = False
    us: bool = False

    @property
    def caught(self) -> bool:
        """Whether anything begins to stop it."""
        return self.lost or self.seen is None or self.seen.caught

    @cached_property
    def lanes(self) -> list[Lane]:
        """The stages as rows: what runs after what, and what side by side."""
        return lanes_of(self.stages)[0]

    @cached_property
    def ends(self) -> dict[str, float]:
        """When each stage is over, s, by its name; infinite: never."""
        return {bar.stage.name: bar.ends for lane in self.lanes for bar in lane.bars}

    @property
    def catch(self) -> float:
        """When the last pawl has caught, s."""
        return lanes_of(self.stages)[1]

    @property
    def opens(self) -> float:
        """When the hold winding's supply is cut, s."""
        return self.ends.get("relay_release", self.ends.get("decision_delay", 0.0))

    @property
    def rest(self) -> float | None:
        """From the last catch until the rolls stand, s; None: they never do."""
        stands = self.ends["rest"]
        return stands - self.catch if isfinite(stands) else None

    @property
    def way(self) -> float | None:
        """Of the metal meanwhile, m: the rolls slow down evenly, as in a race."""
        return None if self.rest is None else self.metal_speed * self.rest / 2

    @property
    def stop(self) -> float | None:
        """Where it stands, m past the sensor's axis; None: it never does."""
        return None if self.way is None else self.start + self.metal_speed * self.catch + self.way

    @property
    def margin(self) -> float | None:
        """From there to the shear bar, m."""
        return None if self.stop is None else self.bar - self.stop

    @property
    def lead(self) -> float:
        """How long before the instant 0 the picture begins, s."""
        return (LEAD if self.caught else UNCAUGHT) / self.metal_speed

    @property
    def leaves(self) -> float:
        """When metal that nothing stops is well past the shear bar, s."""
        return (self.bar + _BEYOND - self.start) / self.metal_speed

    @property
    def through(self) -> float | None:
        """When the metal reaches the shear bar, s; None: it stands before it."""
        even = (self.bar - self.start) / self.metal_speed
        if self.rest is None or self.way is None or even <= self.catch:
            return even
        left = self.metal_speed * (even - self.catch)
        if left > self.way:
            return None
        return self.catch + self.rest * (1 - sqrt(1 - left / self.way))

    def without_trip(self) -> Run:
        """The same stop with the supply cut: no detector decides, no relay is waited for."""
        left = tuple(s for s in self.stages if s.name not in ("decision_delay", "relay_release"))
        run = replace(self, stages=left, start=0.0, seen=None, lost=True)
        # The mark lies where it will stand in sight, short of the shear bar.
        return (
            run if run.stop is None else replace(run, start=min(0.0, self.bar - run.stop - _SHORT))
        )
