"""One piece at one place and cut, as the sensor sees it: the seeing half of a race."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tripmargin.ground.languages import later
from tripmargin.ground.languages.phrases import Phrase
from tripmargin.ground.results import Spread
from tripmargin.machine import Machine
from tripmargin.protection.seeing import Glimpse, Sight
from tripmargin.protection.sights import Sights
from tripmargin.sensing.passing import simulate_pass
from tripmargin.sensing.pieces import Piece
from tripmargin.sensing.tables import LEVELS, level_of
from tripmargin.stopping import feed_speed
from tripmargin.stopping.feed import metal_speed

_DRAWS = 1024


@dataclass(frozen=True, slots=True)
class Spot:
    """A piece at one place as the sensor sees it at one cut: it owes nothing to the stop.

    Attributes
    ----------
    x, height : float, m
    crossing_y : Spread or None, m
        Where it is caught with every input at its middle, and the limits over the tolerances.
    """

    piece: Piece
    x: float
    height: float
    crossing_y: Spread | None
    remarks: tuple[Phrase, ...]
    sights: Sights
    seen: Sight

    @classmethod
    def of(
        cls,
        machine: Machine,
        cut_length: float,
        piece: Piece,
        x: float | None = None,
        height: float | None = None,
    ) -> Spot:
        """The piece there; by default over the middle of the first magnet, and mid-height.

        Raises
        ------
        NotKnownError
            If the machine file lacks what the sensor needs.
        ValueError
            If the place cannot be.
        """
        x = _over_first_magnet(machine) if x is None else x
        height = _mid_height(machine) if height is None else height
        speed = metal_speed(machine, cut_length)
        one = simulate_pass(machine, piece, x=x, height=height, speed=speed)
        if machine.get("detector.noise") is None:
            machine.need(later("the race with a piece"), "detector.noise")
        at, above = np.array([x]), np.array([height])
        sights = Sights(machine, [cut_length], places=at, heights=above)
        seen = sights.sight(piece, sights.sample(_DRAWS, place=x, height=height))
        y = None
        if one.crossing_y is not None:
            low, high = _ends(seen.at(feed_speed(machine, cut_length)), one.crossing_y)
            y = Spread(one.crossing_y, low=low, high=high)
        return cls(piece, x, height, y, one.remarks, sights, seen)


def _over_first_magnet(machine: Machine) -> float:
    sensor = machine.sensor
    if sensor is None or not sensor.assemblies:
        return 0.0
    return sensor.assemblies[0].centre[0].nominal


def _mid_height(machine: Machine) -> float:
    (depth,) = machine.need(later("the race"), "feed.crop_depth")
    return depth.nominal


def _ends(glimpse: Glimpse, nominal: float) -> tuple[float, float]:
    """Least and greatest crossing among the draws that are caught."""
    threshold = glimpse.sample.get("detector.threshold")
    caught = glimpse.peak >= threshold
    if not caught.any():
        return nominal, nominal
    q = level_of(threshold[caught] / glimpse.peak[caught])
    rows = glimpse.crossing[caught]
    where = [np.interp(level, LEVELS, row) for level, row in zip(q, rows, strict=True)]
    return float(min(*where, nominal)), float(max(*where, nominal))
