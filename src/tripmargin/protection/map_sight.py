"""The sensor's half of the protection map, ready for any stop: a map in moments."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.protection.mapping import MAP_DRAWS
from tripmargin.protection.seeing import cubic
from tripmargin.protection.sights import REFERENCE_BALL, Sights
from tripmargin.protection.stops import LATE_PLACES, LateTable, Stops
from tripmargin.sensing.lines import REACH
from tripmargin.sensing.pieces import Piece
from tripmargin.stopping import feed_speed, travel_chances
from tripmargin.stopping.densities import log_odds

Array = NDArray[np.float64]
_BINS = 0.5e-3  # m, of the crossing's place: far below the spread of any stop
_NODES = 8  # cuts at which the stop is worked out
_FAR = np.linspace(-5 * REACH, 2 * REACH, 2801)  # m; metal that travels farther is late anyway
_ODDS = np.linspace(-32.0, 32.0, 321)  # log odds of being too late


@dataclass(frozen=True, slots=True)
class MapSight:
    """All that a protection map owes to the sensor; what is left is one product with the stop.

    Attributes
    ----------
    cuts, sizes : ndarray, (c,) and (s,), m
    missed : ndarray, (c, s)
    y : ndarray, (k,), m
        Places of the crossing.
    caught : ndarray of float32, (c, s, k)
        Share of all the metal that is caught about each y; with `missed` it sums to 1. A crossing
        between two places counts for both by its distance.
    nodes, drifts : ndarray, (n,), m and s
        Cuts at which a stop is worked out for the whole map, and there the drift of the crossing
        with the speed, see `TravelChances.late`.
    """

    cuts: Array
    sizes: Array
    missed: Array
    y: Array
    caught: NDArray[np.float32]
    nodes: Array
    drifts: Array

    @classmethod
    def of(cls, sights: Sights, cuts: Array, sizes: Array) -> MapSight:
        """Look every cut and size up; takes as long as a map.

        Raises
        ------
        NotKnownError
            If the machine file lacks what seeing needs.
        """
        ball, scales = Piece.ball(REFERENCE_BALL), (sizes / REFERENCE_BALL) ** 3
        seen = sights.sight(ball, sights.sample(MAP_DRAWS))
        y = np.arange(-REACH, 2 * REACH + _BINS, _BINS)
        missed = np.empty((len(cuts), len(sizes)))
        caught = np.zeros((len(cuts), len(sizes), len(y)), dtype=np.float32)
        for c, cut in enumerate(cuts):
            speed = feed_speed(sights.machine, float(cut))
            missed[c] = sights.missed(ball, speed, scales)
            _, chance, where = sights.caught(seen, speed, scales)
            share = chance * seen.sample.weights
            total = np.maximum(share.sum(axis=1), 1e-300)
            # What is missed comes of more draws than where the rest is caught.
            caught[c] = _heaped(where, share, y) * ((1 - missed[c]) / total)[:, None]
        used = np.flatnonzero(caught.any(axis=(0, 1)))
        some = slice(used[0], used[-1] + 1) if len(used) else slice(0, 1)
        nodes = np.geomspace(cuts[0], cuts[-1], _NODES) if len(cuts) > 1 else cuts
        drifts = [seen.at(feed_speed(sights.machine, float(cut))).drift for cut in nodes]
        return cls(cuts, sizes, missed, y[some], caught[:, :, some].copy(), nodes, np.array(drifts))

    def parts(self, stops: Stops) -> Array:
        """Chances missed, too late and protected with a stop, (3, c, s)."""
        late = np.einsum("csk,ck->cs", self.caught, self.late(stops))
        return np.stack([self.missed, late, 1 - self.missed - late])

    def late(self, stops: Stops) -> Array:
        """Chance of being too late for metal that is caught at each cut and `y`, (c, k).

        Worked out at the nodes. Between them the place at which metal must be caught for a given
        chance goes along a cubic: it is the shear bar's less the travel, and most of the travel
        goes with the speed, the rest hardly changes with it.
        """
        tables = np.array(
            [
                travel_chances(
                    stops.machine, float(cut), densities=stops.densities, fine=False
                ).late(_FAR, drift=float(drift), fine=False)
                for cut, drift in zip(self.nodes, self.drifts, strict=True)
            ]
        )
        # A part that sticks makes late whatever the place: that share is no matter of places.
        never = float(tables.min())
        tables = (tables - never) / max(1 - never, 1e-300)
        places = np.array([np.interp(_ODDS, log_odds(table), _FAR) for table in tables])
        weights, columns = cubic(self.cuts, self.nodes)
        along = sum(w[:, None] * places[c] for w, c in zip(weights, columns, strict=True))
        made = []
        for one in np.maximum.accumulate(np.asarray(along), axis=1):
            chance = 1 / (1 + np.exp(-np.interp(LATE_PLACES, one, _ODDS)))
            chance[one[0] > LATE_PLACES], chance[one[-1] < LATE_PLACES] = 0.0, 1.0
            made.append(LateTable.of(never + (1 - never) * chance).at(self.y))
        return np.array(made)


def _heaped(where: Array, share: Array, y: Array) -> Array:
    """Shares (s, n) of metal caught at `where` (s, n), heaped on even places `y`; (s, k)."""
    rows = np.arange(len(where))[:, None] * len(y)
    at = np.clip((where - y[0]) / (y[1] - y[0]), 0, len(y) - 2)
    below = at.astype(np.intp)
    parts = share * (1 - at + below), share * (at - below)
    places = np.concatenate([(rows + below).ravel(), (rows + below + 1).ravel()])
    heaps = np.bincount(places, np.concatenate([p.ravel() for p in parts]), len(where) * len(y))
    return np.asarray(heaps.reshape(len(where), len(y)), dtype=float)
