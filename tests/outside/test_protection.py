"""The protection map by brute force: every draw runs the plain definitions of MODEL.md.

Places, heights, tolerances, tooth phases and noise are drawn at random; each draw's linkage is
m . b of the fields along its own line, turned by its own rotation; its output goes through the
textbook transfer function and gets its own noise; its stop is MODEL.md's sum. Nothing is
tabulated, interpolated over places or convolved, so that only the fields are shared with the code
under test (they have outside checks of their own).
"""

from __future__ import annotations

from math import pi
from typing import Any

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from tests.made_machines import CHAIN, PAWL, lopsided, made, plover
from tripmargin.machine import Machine
from tripmargin.protection import protection_map
from tripmargin.sensing import sensor_fields

DRAWS = 4000
MU0 = 4e-7 * pi
STEP = 2e-3  # m
CUTS = (0.006, 0.014, 0.030)
DIAMETERS = np.array([0.012, 0.018, 0.026, 0.045])


def turned(points: np.ndarray, angle: np.ndarray) -> np.ndarray:
    """Vectors (n, k, 3) turned about +x by each draw's angle."""
    c, s = np.cos(angle)[:, None], np.sin(angle)[:, None]
    y, z = points[..., 1], points[..., 2]
    return np.stack([points[..., 0], c * y - s * z, s * y + c * z], axis=-1)


def linkages(machine: Machine, d: dict[str, Any], y: np.ndarray) -> np.ndarray:
    """Linkage of a ball of 1 m^3 per draw along its own line, (n, len(y)), Wb."""
    near = 0.1 * np.sinh(np.linspace(-1, 1, 61) * np.arcsinh(12.0))
    line = np.zeros((DRAWS, len(near), 3))
    line[..., 0] = d["place"][:, None]
    line[..., 1] = near
    line[..., 2] = d["radius"] + d["height"][:, None]
    # The sensor turned by an angle sees what the unturned one sees with the piece turned back.
    b0, b = sensor_fields(machine, turned(line, -d["rotation"]))
    alpha = 3 * (200 - 1) / (200 + 2)
    return CubicSpline(near, alpha / MU0 * (b0 * b).sum(axis=-1), axis=1)(y)


def response(f: np.ndarray, gain: Any, low: Any, high: Any) -> np.ndarray:
    s = 2j * pi * f
    w = 2 * pi * high
    return gain * s / (s + 2 * pi * low) * w**2 / (s**2 + np.sqrt(2) * w * s + w**2)


def regions(machine: Machine, d: dict[str, Any], cut: float) -> np.ndarray:
    """Shares missed, too late and stopped, (3, diameters)."""
    n = 2048
    y = -1.1 + STEP * np.arange(n)
    inside = np.abs(y) <= 1.1
    flux = np.zeros((DRAWS, n))
    flux[:, inside] = linkages(machine, d, y[inside])
    roll = cut * 10 * d["turning"]
    v = roll * (1 - d["slip"])
    f = np.fft.rfftfreq(n)[None, :] * v[:, None] / STEP
    h = response(f, d["gain"][:, None], d["low_cut"][:, None], d["high_cut"][:, None])
    unit = np.fft.irfft(np.fft.rfft(flux * d["strength"][:, None]) * h * (-2j * pi * f), n)
    rng = np.random.default_rng(int(cut * 1e5))
    noise = np.fft.irfft(np.fft.rfft(rng.standard_normal((DRAWS, n))) * h, n)
    noise *= d["noise"][:, None] / noise.std(axis=1, keepdims=True)
    found = np.empty((3, len(DIAMETERS)))
    travel = v * d["catch"](roll) + (1 - d["slip"]) * d["angle"] * d["radius"]
    for k, size in enumerate(DIAMETERS):
        over = np.abs(pi / 6 * size**3 * unit + noise) >= d["threshold"][:, None]
        over[:, ~inside] = False
        caught = over.any(axis=1)
        late = d["bar"] - y[over.argmax(axis=1)] - travel < 0
        found[:, k] = (~caught).mean(), (caught & late).mean(), (caught & ~late).mean()
    return found


def even(rng: np.random.Generator, low: float, high: float) -> np.ndarray:
    return rng.uniform(low, high, DRAWS)


def plover_draws() -> dict[str, Any]:
    """Inputs of plover.toml, typed from it."""
    rng = np.random.default_rng(31)
    r, supply = even(rng, 18 * 0.92, 18 * 1.08), even(rng, 12.4, 14.0)
    inductance, release = even(rng, 0.136, 0.184), even(rng, 0.17, 0.23)
    decay = inductance / r * np.log((supply + 0.8) / (release * r + 0.8))
    before = even(rng, 2e-3, 4e-3) + even(rng, 4e-3, 9e-3) + decay + even(rng, 5e-3, 9e-3)
    swings = [even(rng, 6e-3, 8e-3) * np.sqrt(even(rng, 2.7e-3, 4.3e-3) / 3.5e-3) for _ in range(2)]
    phases = [even(rng, 0, 1) for _ in range(2)]

    def catch(roll: np.ndarray) -> np.ndarray:
        waits = [p * pi * 0.19 / 18 / roll for p in phases]
        return before + np.maximum(swings[0] + waits[0], swings[1] + waits[1])

    one = np.ones(DRAWS)
    return {
        "place": even(rng, -0.32, 0.32),
        "height": even(rng, 0.01, 0.09),
        "radius": 0.095,
        "rotation": even(rng, -3, 3) * pi / 180,
        "turning": even(rng, 980, 1020) / 60,
        "slip": even(rng, 0, 0.06),
        "gain": 900 * one,
        "low_cut": 6 * one,
        "high_cut": 160 * one,
        "strength": one,
        "threshold": 1.5 * one,
        "noise": 0.06 * one,
        "angle": even(rng, 3, 6) * pi / 180,
        "bar": even(rng, 0.326, 0.334),
        "catch": catch,
    }


def lopsided_machine() -> Machine:
    """One tilted magnet off the middle, and doubt in everything that scales the signal."""
    sensor = lopsided()
    sensor["assemblies"][0]["magnet"]["remanence"] = "0.40 T +- 8 %"
    sensor["assemblies"][0]["coil"]["turns"] = "2000 +- 5 %"
    return made(
        sensor=sensor,
        rotation="10 deg +- 8 deg",
        feed={
            "cutterhead_speed": "1000 rpm +- 20 rpm (sd)",
            "slip": "2 % .. 12 %",
            "sensor_to_shear_bar": "0.28 m +- 5 mm (sd)",
            "crop_depth": "15 mm .. 70 mm",
        },
        detector={
            "gain": "700 +- 5 %",
            "low_cut": "8 Hz +- 20 %",
            "high_cut": "60 Hz +- 20 %",
            "threshold": "1.2 V +- 10 %",
            "noise": "0.08 V",
            "decision_delay": "2 ms .. 5 ms",
        },
        chain={
            "relay_release": "10 ms +- 2 ms (sd)",
            "pawls": [PAWL | {"clearance": "4 mm +- 1 mm", "ratchet_teeth": 14}],
            "rest": {"roll_angle": "4 deg .. 8 deg"},
            "hold_winding": CHAIN["hold_winding"] | {"release_time": "12 ms .. 20 ms"},
        },
    )


def lopsided_draws() -> dict[str, Any]:
    rng = np.random.default_rng(32)
    before = even(rng, 2e-3, 5e-3) + rng.normal(10e-3, 2e-3, DRAWS) + even(rng, 12e-3, 20e-3) + 7e-3
    swing = 7e-3 * np.sqrt(even(rng, 3e-3, 5e-3) / 3.5e-3)
    phase = even(rng, 0, 1)
    strength = even(rng, 0.92, 1.08) * even(rng, 0.95, 1.05)
    return {
        "place": even(rng, -0.3, 0.3),
        "height": even(rng, 0.015, 0.07),
        "radius": 0.095,
        "rotation": even(rng, 2, 18) * pi / 180,
        "turning": rng.normal(1000, 20, DRAWS) / 60,
        "slip": even(rng, 0.02, 0.12),
        "gain": even(rng, 665, 735),
        "low_cut": even(rng, 6.4, 9.6),
        "high_cut": even(rng, 48, 72),
        "strength": strength,
        "threshold": even(rng, 1.08, 1.32),
        "noise": np.full(DRAWS, 0.08),
        "angle": even(rng, 4, 8) * pi / 180,
        "bar": rng.normal(0.28, 0.005, DRAWS),
        "catch": lambda roll: before + swing + phase * pi * 0.19 / 14 / roll,
    }


MACHINES = {
    "plover without its keeper": (lambda: plover(keeper=False), plover_draws),
    "lopsided": (lopsided_machine, lopsided_draws),
}


@pytest.mark.parametrize("name", MACHINES)
def test_the_map_is_that_of_draws_run_one_by_one(name: str) -> None:
    make, draws = MACHINES[name]
    machine, d = make(), draws()
    ours = protection_map(machine, cut_lengths=CUTS, diameters=DIAMETERS)
    unturned = machine.with_settings({"sensor.rotation": 0.0})
    for c, cut in enumerate(CUTS):
        counted = regions(unturned, d, cut)
        parts = np.array([ours.missed[c], ours.too_late[c], ours.protected[c]])
        errors = 4 * np.sqrt(np.maximum(counted * (1 - counted), 1e-4) / DRAWS)
        print(name, cut, "\n", parts.round(3), "\n", counted.round(3))
        assert (np.abs(parts - counted) <= errors / 2 + 0.01).all(), (cut, parts, counted)
