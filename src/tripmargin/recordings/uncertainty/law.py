"""The law of propagation of uncertainty: what the inputs' doubts make of a result's."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.results import plain
from tripmargin.recordings.uncertainty.inputs import Input, welch_satterthwaite

Floats = NDArray[np.float64]
STEP = 0.05  # of a standard uncertainty: small beside the doubt, large beside the rounding


@dataclass(frozen=True, slots=True)
class Measured:
    """A result with its uncertainty.

    Attributes
    ----------
    value
        Best estimate, in the result's SI unit.
    u
        Combined standard uncertainty, same unit.
    dof
        Effective degrees of freedom.
    budget
        For each input by name: its share of `u`, |dy/dx| u(x), signed as the derivative is.
    """

    value: float
    u: float
    dof: float
    budget: Mapping[str, float]

    def factor(self, probability: float = 0.95) -> float:
        """Coverage factor k: Student's t of the degrees of freedom, cut to a whole (GUM G.4)."""
        from scipy.stats import norm, t

        upper = (1 + probability) / 2
        if np.isinf(self.dof):
            return float(norm.ppf(upper))
        return float(t.ppf(upper, max(1, int(self.dof))))

    def interval(self, probability: float = 0.95) -> tuple[float, float]:
        """Limits between which the value lies with that probability."""
        half = self.factor(probability) * self.u
        return self.value - half, self.value + half

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return dict(
            plain({"value": self.value, "u": self.u, "dof": self.dof, "budget": dict(self.budget)})
        )


def propagate(
    model: Callable[..., Any],
    inputs: Mapping[str, Input],
    *,
    correlations: Mapping[tuple[str, str], float] | None = None,
    second_order: bool = False,
) -> Measured:
    """A result of independent or correlated inputs, by the law of propagation of uncertainty.

    Parameters
    ----------
    model
        Takes each input by its name, gives the result; called with plain numbers.
    inputs
        By name.
    correlations
        Correlation coefficients of pairs of inputs; 0 where a pair is not named.
    second_order
        Also the terms of second order for independent inputs (GUM 5.1.2, note); degrees of freedom
        stay those of the first order.

    Raises
    ------
    ValueError
        Where a correlation names an unknown input or lies outside -1 to 1.

    Notes
    -----
    u^2 = sum_ij c_i c_j u_i u_j r_ij; GUM (JCGM 100:2008) 5.1 and 5.2, degrees of freedom G.4.1.
    Derivatives by central differences over a small share of each input's own uncertainty
    (GUM 5.1.3, note 2).
    """
    value, budget, seen = _first_order(model, inputs)
    shares = np.array(list(budget.values()))
    u2 = float(shares @ _matrix(tuple(inputs), correlations or {}) @ shares)
    if second_order:
        u2 += _second_order(seen, inputs)
    dof = welch_satterthwaite(list(np.abs(shares)), [each.dof for each in inputs.values()])
    return Measured(value, float(np.sqrt(max(u2, 0.0))), dof, budget)


def propagate_several(
    model: Callable[..., Any],
    inputs: Mapping[str, Input],
    *,
    correlations: Mapping[tuple[str, str], float] | None = None,
) -> tuple[Floats, Floats]:
    """Several results of the same inputs: values, (m,), and covariance, (m, m) (GUM H.2)."""
    at = {name: each.value for name, each in inputs.items()}
    value = np.asarray(model(**at), dtype=float)
    columns = []
    for name, each in inputs.items():
        step = STEP * each.u
        if step == 0:
            columns.append(np.zeros_like(value))
            continue
        up = np.asarray(model(**(at | {name: each.value + step})), dtype=float)
        down = np.asarray(model(**(at | {name: each.value - step})), dtype=float)
        columns.append((up - down) / (2 * STEP))
    shares = np.stack(columns, axis=-1)
    return value, shares @ _matrix(tuple(inputs), correlations or {}) @ shares.T


def _first_order(
    model: Callable[..., Any], inputs: Mapping[str, Input]
) -> tuple[float, dict[str, float], Callable[..., float]]:
    at = {name: each.value for name, each in inputs.items()}

    def seen(**moved: float) -> float:
        return float(model(**(at | moved)))

    budget = {}
    for name, each in inputs.items():
        step = STEP * each.u
        if step == 0:
            budget[name] = 0.0
            continue
        up, down = seen(**{name: each.value + step}), seen(**{name: each.value - step})
        budget[name] = (up - down) / (2 * STEP)
    return seen(), budget, seen


def _second_order(seen: Callable[..., float], inputs: Mapping[str, Input]) -> float:
    """sum_ij (f_ij^2 / 2 + f_i f_ijj) u_i^2 u_j^2, in steps of the inputs' u (GUM 5.1.2, note)."""
    names = [name for name, each in inputs.items() if each.u > 0]
    h = 1.0  # u: a polynomial of third order is met exactly by differences this wide

    def at(**steps: float) -> float:
        return seen(**{name: inputs[name].value + s * inputs[name].u for name, s in steps.items()})

    middle, total = at(), 0.0
    for i in names:
        slope = (at(**{i: STEP}) - at(**{i: -STEP})) / (2 * STEP)
        for j in names:
            if i == j:
                bend = (at(**{i: h}) - 2 * middle + at(**{i: -h})) / h**2
                twist = (
                    at(**{i: 2 * h}) - 2 * at(**{i: h}) + 2 * at(**{i: -h}) - at(**{i: -2 * h})
                ) / (2 * h**3)
            else:
                corner = {(a, b): at(**{i: a * h, j: b * h}) for a in (-1, 1) for b in (-1, 0, 1)}
                bend = (corner[1, 1] - corner[1, -1] - corner[-1, 1] + corner[-1, -1]) / (4 * h**2)
                right = corner[1, 1] - 2 * corner[1, 0] + corner[1, -1]
                left = corner[-1, 1] - 2 * corner[-1, 0] + corner[-1, -1]
                twist = (right - left) / (2 * h**3)
            total += bend**2 / 2 + slope * twist
    return total


def _matrix(names: tuple[str, ...], correlations: Mapping[tuple[str, str], float]) -> Floats:
    made = np.eye(len(names))
    for (one, other), r in correlations.items():
        for name in (one, other):
            if name not in names:
                raise ValueError(f"no input is called {name!r}; there are {', '.join(names)}.")
        if not -1 <= r <= 1:
            raise ValueError(f"a correlation of {r} between {one} and {other}: it is -1 to 1.")
        i, j = names.index(one), names.index(other)
        made[i, j] = made[j, i] = r
    return made
