"""Reach map: the smallest ball at 41 places x 21 heights, ours against magpylib.

Three peers, all with magpylib's own magnets and current loops, all giving the same answer:

- step by step: for each place, and for each step of the pass, one call for the magnets' field and
  one for the windings'. This is the loop that one writes first. It is run for a few places drawn
  at random and scaled up to all of them.
- pass by pass: the same, but one call for all steps of a pass.
- all at once: one call for every step of every pass, in as few pieces as memory allows.

All know, as ours does, that a ball's signal goes with its volume, so that one pass of one ball
tells the smallest.
"""

from __future__ import annotations

import magpylib
import numpy as np
from common.turns import in_turn, median, say, seconds, spoken, where
from scipy.signal import butter, lfilter

import tripmargin as tm

MACHINE = "dunlin"  # without a keeper, which magpylib alone does not know
SPEED = 1.0  # m/s
MU0 = 4e-7 * np.pi
BALL, MU_R = 0.01, 200.0
FAR, STEP = 0.35, 1e-3  # m: from where to where the piece is followed, and how closely
FILAMENTS = 4  # loops across a winding's build, and as many over its height
STEPWISE, PASSWISE = 4, 40  # places that are run


class Magpylib:
    """The sensor as a user of magpylib would write it, and the passes over it."""

    def __init__(self, machine: tm.Machine) -> None:
        feed, self.detector = machine.feed, machine.detector
        self.z0 = feed.roll_diameter.nominal / 2
        self.magnets, self.windings = magpylib.Collection(), magpylib.Collection()
        for assembly in machine.sensor.assemblies:
            centre = np.array([q.nominal for q in assembly.centre])
            self._add_magnet(assembly.magnet, centre)
            self._add_winding(assembly.coil, centre)
        self.y = np.arange(-FAR, FAR + STEP / 2, STEP)

    def _add_magnet(self, magnet, centre) -> None:
        direction = np.array(magnet.direction, dtype=float)
        self.magnets.add(
            magpylib.magnet.Cuboid(
                dimension=[q.nominal for q in magnet.size],
                polarization=magnet.remanence.nominal * direction / np.linalg.norm(direction),
                position=centre,
            )
        )

    def _add_winding(self, coil, centre) -> None:
        inner, outer = (np.array([q.nominal for q in side]) for side in (coil.inner, coil.outer))
        for across in (np.arange(FILAMENTS) + 0.5) / FILAMENTS:
            x, y = (inner + across * (outer - inner)) / 2
            for up in ((np.arange(FILAMENTS) + 0.5) / FILAMENTS - 0.5) * coil.height.nominal:
                corners = [(-x, -y), (x, -y), (x, y), (-x, y), (-x, -y)]
                self.windings.add(
                    magpylib.current.Polyline(
                        current=coil.sense * coil.turns.nominal / FILAMENTS**2,
                        vertices=[(*corner, up) for corner in corners],
                        position=centre,
                    )
                )

    def smallest_ball_step_by_step(self, x: float, height: float) -> float:
        field, per_ampere = [], []
        for y in self.y:
            place = (x, y, self.z0 + height)
            field.append(self.magnets.getB(place))
            per_ampere.append(self.windings.getB(place))
        return self._smallest(np.array(field), np.array(per_ampere))

    def smallest_ball_pass_by_pass(self, x: float, height: float) -> float:
        line = np.column_stack([np.full_like(self.y, x), self.y, self.y * 0 + self.z0 + height])
        return self._smallest(self.magnets.getB(line), self.windings.getB(line))

    def smallest_balls_at_once(self, x: np.ndarray, heights: np.ndarray) -> np.ndarray:
        made = []
        for height in heights:  # one row of places at a time: 41 x 701 points
            points = np.stack(np.broadcast_arrays(x[:, None], self.y, self.z0 + height), axis=-1)
            fields = self.magnets.getB(points), self.windings.getB(points)
            made.append([self._smallest(B, b) for B, b in zip(*fields, strict=True)])
        return np.array(made)

    def _smallest(self, field: np.ndarray, per_ampere: np.ndarray) -> float:
        """Diameter of the smallest ball that reaches the threshold, m."""
        volume = np.pi / 6 * BALL**3
        moment = 3 * volume * (MU_R - 1) / (MU_R + 2) * field / MU0
        linkage = (moment * per_ampere).sum(axis=-1)
        rate = SPEED / STEP
        emf = -np.gradient(linkage, 1 / rate)
        output = self.detector.gain.nominal * emf
        output = lfilter(*butter(1, self.detector.low_cut.nominal, "high", fs=rate), output)
        output = lfilter(*butter(2, self.detector.high_cut.nominal, "low", fs=rate), output)
        peak = np.abs(output).max()
        return float(BALL * np.cbrt(self.detector.threshold.nominal / peak))


def main() -> None:
    machine = tm.load_machine(MACHINE)
    peer = Magpylib(machine)
    made = []

    def ours() -> None:
        made.append(tm.sensing.reach(machine, speed=SPEED))

    ours()  # first call imports
    seen = made[-1]
    cells = seen.smallest_ball.size
    print(f"Reach map of {MACHINE}, {seen.smallest_ball.shape[::-1]} places; {where()}")
    random = np.random.default_rng(1)
    sighted = [tuple(rc) for rc in np.argwhere(np.isfinite(seen.smallest_ball))]
    chosen = [sighted[k] for k in random.choice(len(sighted), PASSWISE, replace=False)]

    def run(one, where_) -> list[float]:
        return [one(float(seen.places[c]), float(seen.heights[r])) for r, c in where_]

    answers = run(peer.smallest_ball_pass_by_pass, chosen)
    worst = max(abs(d / seen.smallest_ball[rc] - 1) for d, rc in zip(answers, chosen, strict=True))
    print(f"Smallest balls of both at {PASSWISE} places agree within {100 * worst:.2g} %.")
    if worst > 0.01:
        raise SystemExit("The answers differ by more than 1 %: no ratio.")

    theirs, own = in_turn(
        lambda: run(peer.smallest_ball_step_by_step, chosen[:STEPWISE]), ours, rounds=3
    )
    whole = median(theirs) * cells / STEPWISE
    say(
        "Step by step in magpylib, over ours",
        whole / median(own),
        "at least 200 x",
        f"{spoken(whole)}, scaled up from {STEPWISE} of {cells} places, {len(peer.y)} steps each,"
        f" against {spoken(median(own))}; medians of {len(own)}",
    )
    theirs, own = in_turn(
        lambda: run(peer.smallest_ball_pass_by_pass, chosen), ours, rounds=3, patience=20
    )
    whole = median(theirs) * cells / PASSWISE
    say(
        "Pass by pass in magpylib, over ours",
        whole / median(own),
        "none; for fairness",
        f"{spoken(whole)}, scaled up from {PASSWISE} of {cells} places,"
        f" against {spoken(median(own))}; medians of {len(own)}",
    )
    rows = seen.heights[[0, -1]]
    whole = seconds(lambda: peer.smallest_balls_at_once(seen.places, rows)) * len(seen.heights) / 2
    say(
        "All at once in magpylib, over ours",
        whole / median(own),
        "none; for fairness",
        f"{spoken(whole)}, scaled up from 2 of {len(seen.heights)} rows, one run,"
        f" against {spoken(median(own))}",
    )


if __name__ == "__main__":
    main()
