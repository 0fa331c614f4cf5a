"""A yard for simulated settings, written apart from the planner: it moves millimetres, not beliefs.

True leverage, coupling, tightening and the feeler's error are drawn from distributions that are
stated here and are wider, or lie elsewhere, than what the planner takes them for.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.machine import Machine

Array = NDArray[np.float64]


def limits(machine: Machine, pawl: str, field: str, assumed: tuple[float, float]) -> Array:
    """The ends that the file gives for a number of a pawl's adjuster."""
    adjuster = machine.get(f"chain.pawls.{pawl}.adjuster")
    q = getattr(adjuster, field) if adjuster is not None else None
    return np.array(assumed if q is None else (q.low, q.high))


@dataclass
class Yard:
    """Many machines of one type, (n, 2): lower with a clevis, upper with a clamp.

    Attributes
    ----------
    gaps : ndarray, (n, 2), m
        True ones; nobody in the yard knows them.
    leverage, shift, coupling : ndarray
        Each machine's own.
    """

    rng: np.random.Generator
    gaps: Array
    way: float  # m of thread in the smallest turn
    leverage: Array
    shift: Array  # (n, 2) average of each machine
    scatter: Array  # (2,) of one tightening
    coupling: Array  # (n, 2) share by which pawl j takes the other along
    placing: float  # m, half width of a hand's placing
    blade: float  # m
    feel: float  # m, sd

    @classmethod
    def drawn(cls, machine: Machine, count: int, seed: int, *, as_assumed: bool = False) -> Yard:
        """Leverage: normal, 1.1 times as wide as the file's limits and 3 % off their middle.

        Tightening: each machine's average between the file's limits, and on it a normal scatter
        of a third of their half width. Coupling: triangular over the file's limits and a tenth
        beyond. Feeler: the blade's step, and a hand's feel of 0.03 mm (sd). Found gaps: lower and
        upper each anywhere from 0.6 to 8 mm.

        `as_assumed`: everything between the file's limits instead, any value as likely as another.
        """
        rng = np.random.default_rng(seed)
        lever = limits(machine, "lower", "leverage", (0.7, 1.3))
        sd = 1.1 * np.ptp(lever) / np.sqrt(12)
        leverage = np.maximum(rng.normal(1.03 * lever.mean(), sd, count), 0.2)
        shifts = np.stack(
            [limits(machine, p, "tightening_shift", (-2e-4, 2e-4)) for p in ("lower", "upper")]
        )
        shift = rng.uniform(shifts[:, 0], shifts[:, 1], (count, 2))
        shares = np.stack([limits(machine, p, "coupling", (0.0, 0.2)) for p in ("lower", "upper")])
        room = 0.1 * np.ptp(shares, axis=1)
        coupling = rng.triangular(
            shares[:, 0] - room, shares.mean(axis=1), shares[:, 1] + room, (count, 2)
        )
        if as_assumed:
            leverage = rng.uniform(lever[0], lever[1], count)
            coupling = rng.uniform(shares[:, 0], shares[:, 1], (count, 2))
        adjuster = machine.get("chain.pawls.lower.adjuster")
        pitch = 1.5e-3 if adjuster is None else adjuster.thread_pitch.nominal
        step = machine.get("chain.feeler_step")
        return cls(
            rng,
            gaps=rng.uniform(0.6e-3, 8e-3, (count, 2)),
            way=pitch / 2,
            leverage=leverage,
            shift=shift,
            scatter=np.ptp(shifts, axis=1) / (1e9 if as_assumed else 6),
            coupling=coupling,
            placing=float(limits(machine, "upper", "placed_within", (0.0, 2e-4))[1]),
            blade=0.05e-3 if step is None else step.nominal,
            feel=0.03e-3,
        )

    def measured(self) -> Array:
        """What the feeler shows, (n, 2): the nearest blade to what the hand feels."""
        felt = self.gaps + self.rng.normal(0, self.feel, self.gaps.shape)
        return np.maximum(np.round(felt / self.blade), 1) * self.blade

    def _move(self, pawl: int, by: Array, who: NDArray[np.bool_]) -> None:
        by = np.where(who, by, 0.0)
        self.gaps[:, pawl] += by
        self.gaps[:, 1 - pawl] += self.coupling[:, pawl] * by

    def tighten(self, pawl: int, who: NDArray[np.bool_]) -> None:
        """The jam nut, or the clamp's bolt."""
        each = self.rng.normal(self.shift[:, pawl], self.scatter[pawl])
        self._move(pawl, each, who)

    def turn_lower(self, steps: Array, who: NDArray[np.bool_]) -> None:
        """The clevis by whole half turns; above zero it opens the gap."""
        assert np.array_equal(steps, np.round(steps))
        self._move(0, steps * self.way * self.leverage, who)
        self.tighten(0, who)

    def place_upper(self, wanted: Array, who: NDArray[np.bool_]) -> None:
        """The clamp, slid until the blade of the gap wanted passes, as far as a hand can."""
        blade = np.round(wanted / self.blade) * self.blade
        felt = blade + self.rng.uniform(-self.placing, self.placing, len(blade))
        felt += self.rng.uniform(-0.5, 0.5, len(blade)) * self.blade
        self._move(1, felt - self.gaps[:, 1], who)
        self.tighten(1, who)

    def inside(self, window: tuple[float, float]) -> NDArray[np.bool_]:
        """Whether both true gaps are in the window."""
        return ((self.gaps >= window[0]) & (self.gaps <= window[1])).all(axis=1)
