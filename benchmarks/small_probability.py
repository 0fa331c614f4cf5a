"""Small probabilities: what a chance of about 1e-6 to go through costs, ours against plain draws.

Plain Monte Carlo needs (1 - p) / (0.05^2 p), about 400 / p, draws for a standard error of 5 %. Ours
has none: stage times are added by convolution. Three things are measured:

- correctness where the answer is known: every tolerance normal and every stage adding up, so that
  the margin is a normal quantity less one evenly spread tooth wait (a closed form);
- agreement with a plain Monte Carlo of a demo machine, written here in numpy, at a cut where that
  can still see something;
- evaluations and time at a cut where the chance is about 1e-6. An evaluation of ours is one stage
  time of one draw, one grid point of a density made on the way, or one look-up in a
  tabulated chance; one of plain Monte Carlo is one whole draw of the race, all stages together.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from math import pi

import numpy as np
from common.turns import in_turn, median, say, spoken, where
from scipy.special import ndtr

import tripmargin as tm
from tripmargin.ground.quantities import quantity
from tripmargin.stopping import travel_chances
from tripmargin.stopping.densities import Density
from tripmargin.stopping.stages import StageModel

MACHINE = "whimbrel"
WANTED, ERROR = 1e-6, 0.05
BATCH = 400_000


# --- the exact case ------------------------------------------------------------------------------

NORMAL = {
    "feed.cutterhead_speed": "1200 rpm",
    "feed.slip": "0 %",
    "feed.sensor_to_shear_bar": "400 mm +- 4 mm (sd)",
    "detector.decision_delay": "3 ms +- 0.4 ms (sd)",
    "chain.relay_release": "8 ms +- 1 ms (sd)",
    "chain.hold_winding.release_time": "12 ms +- 1.2 ms (sd)",
    "chain.plunger.travel_time": "13 ms +- 1 ms (sd)",
    "chain.rest.roll_angle": "4 deg +- 0.4 deg (sd)",
}


def exact_case() -> tuple[tm.Machine, Callable[[float], float]]:
    """A machine whose margin is normal less an even wait, and its chance at any cut."""
    machine = tm.load_machine(MACHINE)
    chain = machine.chain
    pawl = replace(
        chain.pawls[0],
        clearance=quantity("3.5 mm", "length"),
        swing_time=replace(
            chain.pawls[0].swing_time,
            time=quantity("8 ms +- 0.7 ms (sd)", "time"),
            at_clearance=quantity("3.5 mm", "length"),
        ),
    )
    machine = replace(machine, chain=replace(chain, pawls=(pawl,))).with_settings(NORMAL)
    radius = machine.feed.roll_diameter.nominal / 2
    pitch = (
        2 * pi * radius / (pawl.ratchet_teeth.nominal * pawl.ratchet_turns_per_roll_turn.nominal)
    )

    def chance(cut: float) -> float:
        speed = cut * machine.feed.knives.nominal * 1200 / 60
        middle = 0.400 - speed * (3 + 8 + 12 + 13 + 8) * 1e-3 - np.deg2rad(4) * radius
        spread = np.sqrt(
            0.004**2
            + speed**2 * (0.4**2 + 1 + 1.2**2 + 1 + 0.7**2) * 1e-6
            + (np.deg2rad(0.4) * radius) ** 2
        )

        def integral(z: float) -> float:  # of the normal distribution function
            return z * ndtr(z) + np.exp(-(z**2) / 2) / np.sqrt(2 * pi)

        ends = -middle / spread, (pitch - middle) / spread
        return float((integral(ends[1]) - integral(ends[0])) * spread / pitch)

    return machine, chance


def check_exact() -> None:
    machine, chance = exact_case()
    for wanted in (1e-2, 1e-4, 1e-6, 1e-7):
        cut = cut_with(chance, wanted)
        exact, found = chance(cut), ours_at(machine, cut)
        off = found / exact - 1
        print(f"    cut {cut * 1e3:.4g} mm: exact {exact:.4e}, ours {found:.4e}, off {off:+.2%}")
        if abs(off) > ERROR:
            raise SystemExit("Ours is off by more than 5 % of an exact chance: no ratio.")


# --- a plain Monte Carlo of the demo machine -----------------------------------------------------


@dataclass
class Plain:
    """The race by plain draws: what one would write without a second thought."""

    machine: tm.Machine
    random: np.random.Generator

    def draw(self, path: str, n: int) -> np.ndarray:
        q = self.machine.get(path)
        if not q.uncertain:
            return np.full(n, q.nominal)
        if q.shape == "normal":
            return self.random.normal(q.nominal, q.sd, n)
        return self.random.uniform(q.low, q.high, n)

    def margin(self, cut: float, n: int) -> np.ndarray:
        """Margins of n draws, m; metal that trips above the sensor's axis."""
        feed = self.machine.feed
        radius = feed.roll_diameter.nominal / 2
        speed = cut * feed.knives.nominal * self.draw("feed.cutterhead_speed", n)
        hold = "chain.hold_winding."
        resistance, voltage = (
            self.draw(hold + name, n) for name in ("resistance", "suppression.voltage")
        )
        start = self.draw("chain.supply", n) / resistance
        offset = voltage / resistance
        ratio = (start + offset) / (self.draw(hold + "release_current", n) + offset)
        before = (
            self.draw("detector.decision_delay", n)
            + self.draw("chain.relay_release", n)
            + np.maximum(self.draw(hold + "inductance", n) / resistance * np.log(ratio), 0)
            + self.draw("chain.plunger.travel_time", n)
        )
        last = np.zeros(n)
        for pawl in self.machine.chain.pawls:
            place = f"chain.pawls.{pawl.name}."
            gap = self.draw(place + "clearance", n) / pawl.swing_time.at_clearance.nominal
            swing = self.draw(place + "swing_time.time", n) * np.sqrt(np.maximum(gap, 0))
            teeth = pawl.ratchet_teeth.nominal * pawl.ratchet_turns_per_roll_turn.nominal
            wait = self.random.uniform(0, 2 * pi * radius / teeth, n) / speed
            last = np.maximum(last, swing + wait)
        angle = self.draw("chain.rest.roll_angle", n)
        travel = (1 - self.draw("feed.slip", n)) * (speed * (before + last) + angle * radius)
        return self.draw("feed.sensor_to_shear_bar", n) - travel


def ours_at(machine: tm.Machine, cut: float) -> float:
    return float(travel_chances(machine, cut).late(0.0))


def cut_with(chance: Callable[[float], float], wanted: float) -> float:
    """The cut at which the chance to go through is about that, by halving, m."""
    low, high = 0.005, 0.1
    for _ in range(14):
        middle = (low + high) / 2
        low, high = (low, middle) if chance(middle) > wanted else (middle, high)
    return (low + high) / 2


def check_plain(plain: Plain) -> None:
    cut = cut_with(lambda c: ours_at(plain.machine, c), 3e-3)
    found = ours_at(plain.machine, cut)
    n = 40 * BATCH
    hits = sum(int((plain.margin(cut, BATCH) < 0).sum()) for _ in range(n // BATCH))
    error = np.sqrt(found * (1 - found) / n)
    off = (hits / n - found) / error
    print(
        f"    cut {cut * 1e3:.4g} mm: plain {hits / n:.4e} of {n:.0e} draws, ours {found:.4e},"
        f" {off:+.1f} standard errors apart"
    )
    if abs(off) > 4:
        raise SystemExit("Ours and the plain draws differ: no ratio.")


# --- counting ------------------------------------------------------------------------------------


@contextmanager
def counting() -> Iterator[dict[str, int]]:
    """Count evaluations of ours by kind: stage times, grid points of densities, look-ups."""
    counts = {"stage times": 0, "grid points": 0, "look-ups": 0}
    at, made_of, interp = StageModel.at, Density.__init__, np.interp

    def counted_at(self, values):
        made = at(self, values)
        counts["stage times"] += sum(int(np.size(t)) for t in made)
        return made

    def counted_density(self, start, step, mass, *more):
        counts["grid points"] += len(mass)
        made_of(self, start, step, mass, *more)

    def counted_interp(x, *more, **named):
        counts["look-ups"] += int(np.size(x))
        return interp(x, *more, **named)

    StageModel.at, Density.__init__, np.interp = counted_at, counted_density, counted_interp
    try:
        yield counts
    finally:
        StageModel.at, Density.__init__, np.interp = at, made_of, interp


def main() -> None:
    print(f"Small probabilities; {where()}")
    print("All normal and adding up, against the closed form:")
    check_exact()
    machine = tm.load_machine(MACHINE)
    plain = Plain(machine, np.random.default_rng(1))
    print(f"{MACHINE}, against plain draws:")
    check_plain(plain)
    cut = cut_with(lambda c: ours_at(machine, c), WANTED)
    with counting() as counts:
        found = ours_at(machine, cut)
    own, needed = sum(counts.values()), (1 - found) / (ERROR**2 * found)
    say(
        f"Evaluations for a chance of {found:.2g}, plain Monte Carlo over ours",
        needed / own,
        "at least 100 x",
        f"{needed:.3g} whole draws against "
        + ", ".join(f"{value:.3g} {name}" for name, value in counts.items()),
    )
    theirs, mine = in_turn(
        lambda: plain.margin(cut, BATCH), lambda: ours_at(machine, cut), rounds=5
    )
    whole = median(theirs) * needed / BATCH
    say(
        "Time for the same, plain Monte Carlo over ours",
        whole / median(mine),
        "none",
        f"{spoken(whole)}, scaled up from {BATCH} draws, against {spoken(median(mine))};"
        f" medians of {len(mine)}",
    )


if __name__ == "__main__":
    main()
