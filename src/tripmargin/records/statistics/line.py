"""A fitted line with its confidence band, and when either comes to a limit."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf, sqrt


@dataclass(frozen=True, slots=True)
class Line:
    """A fitted line and its confidence band (for the line, not for single values).

    Attributes
    ----------
    centre, mean : float
        The middle of the times, s, and the line there.
    slope : float, per s
    scale : float
        Standard deviation of a value of weight 1.
    weights, spread : float
        Sum of the weights, and of weight x (time - centre)^2.
    freedom : int
        Degrees of freedom of the scale.
    quantile : float
        Student's t for the confidence asked.
    """

    centre: float
    mean: float
    slope: float
    scale: float
    weights: float
    spread: float
    freedom: int
    quantile: float

    def at(self, time: float) -> float:
        """The line at a time, s."""
        return self.mean + self.slope * (time - self.centre)

    def half_width(self, time: float) -> float:
        """Half the width of the band at a time, s."""
        d = time - self.centre
        return self.quantile * self.scale * sqrt(1 / self.weights + d * d / self.spread)

    def rises_to(self, limit: float, since: float, edge: int) -> float:
        """First time, from `since` on, at which the line or an edge of its band is at the limit, s.

        Parameters
        ----------
        edge : int
            1: the band's upper edge. 0: the line. -1: the lower edge.

        Returns
        -------
        float
            `since` where it is there already, infinite where it never comes.

        Notes
        -----
        With d = t - centre: (limit - mean - slope d)^2 = k^2 (1/W + d^2/S), k = quantile x scale;
        the root must lie on its edge's side of the limit. Fieller, J. R. Stat. Soc. B 16 (1954)
        175, as for inverse regression (from memory).
        """
        if self.at(since) + edge * self.half_width(since) >= limit:
            return since
        gap, k2 = limit - self.mean, (edge * self.quantile * self.scale) ** 2
        a, half_b = self.slope**2 - k2 / self.spread, -self.slope * gap
        c = gap**2 - k2 / self.weights
        # half_b^2 - a c, written so that nothing cancels: at k = 0 it is 0, not a hair below
        under = k2 * (
            self.slope**2 / self.weights + gap**2 / self.spread - k2 / (self.weights * self.spread)
        )
        roots = _roots(a, half_b, c, under)
        fitting = (d for d in roots if edge * (gap - self.slope * d) >= 0)
        return min((t for t in (d + self.centre for d in fitting) if t > since), default=inf)

    def mirrored(self) -> Line:
        """The same line with all values negative."""
        return replace(self, mean=-self.mean, slope=-self.slope)

    def chance_beyond(self, limit: float, time: float) -> float:
        """Chance that scatter alone carries the line so far from a limit that it really is at."""
        from scipy.special import stdtr

        error = self.half_width(time) / self.quantile
        return float(stdtr(self.freedom, -abs(self.at(time) - limit) / error))

    def chance_of_slope(self) -> float:
        """Chance that scatter alone makes a slope as steep, or steeper the same way."""
        from scipy.special import stdtr

        error = self.scale / sqrt(self.spread)
        return float(stdtr(self.freedom, -abs(self.slope) / error))


def _roots(a: float, half_b: float, c: float, under: float) -> list[float]:
    """Real roots of a x^2 + 2 half_b x + c, none lost to rounding where a is next to nothing."""
    if under < 0:
        return []
    q = -(half_b + (sqrt(under) if half_b >= 0 else -sqrt(under)))
    return [above / below for above, below in ((q, a), (c, q)) if below != 0]
