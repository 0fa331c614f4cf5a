"""The stop chain against MODEL.md written out afresh, plain Monte Carlo and exact tails.

Sources: contract/MODEL.md, Stopping, for what the numbers mean; circuit texts for the decay of a
winding's current (CHECKS 3.8); Irwin (1927) and Hall (1927), from memory, for the sum of
rectangular quantities; the normal tail for sums of normal ones (CHECKS 2.12); CHECKS 6.20
(Cornell 1969) for resistance against load.
"""

from __future__ import annotations

from itertools import pairwise, product
from math import comb, erfc, factorial, log, pi, sqrt
from typing import Any

import numpy as np
import pytest
from scipy import integrate, optimize

from tests.made_machines import CHAIN, PAWL, made, normal, plover, rect
from tripmargin.machine import Machine
from tripmargin.protection import race
from tripmargin.stopping import (
    HoldCircuit,
    PlungerParts,
    plunger_fall,
    stop_chain,
    travel_chances,
)
from tripmargin.stopping.pawl_swing import PawlParts, pawl_swing_time
from tripmargin.stopping.windup import WindupParts, windup_angle_and_time

# ---- MODEL.md written out for plover.toml: every number is typed from that file, not read by us


def decay(r: float, inductance: float, supply: float, release: float, v: float = 0.8) -> float:
    start = supply / r
    if start <= release:
        return 0.0
    return inductance / r * log((start + v / r) / (release + v / r))


PLOVER: dict[str, tuple[float, float]] = {
    "decision_delay": (2e-3, 4e-3),
    "relay_release": (4e-3, 9e-3),
    "plunger": (5e-3, 9e-3),
    "r": (18 * 0.92, 18 * 1.08),
    "l": (0.16 * 0.85, 0.16 * 1.15),
    "supply": (12.4, 14.0),
    "i": (0.20 * 0.85, 0.20 * 1.15),
    "gap_lower": (2.7e-3, 4.3e-3),
    "time_lower": (6e-3, 8e-3),
    "gap_upper": (2.7e-3, 4.3e-3),
    "time_upper": (6e-3, 8e-3),
    "turning": (1000 / 60 * 0.98, 1000 / 60 * 1.02),
    "slip": (0.0, 0.06),
    "angle": (3 * pi / 180, 6 * pi / 180),
    "bar": (0.326, 0.334),
}
MIDDLE = {name: sum(ends) / 2 for name, ends in PLOVER.items()}


def swing(time: Any, gap: Any) -> Any:
    return time * np.sqrt(gap / 3.5e-3)


@pytest.mark.parametrize("cut", [0.005, 0.010, 0.026])
def test_the_stages_of_plover_are_those_of_the_model_written_out(cut: float) -> None:
    chain = stop_chain(plover(), cut_length=cut)
    wanted: list[tuple[str, float, float, float]] = [
        (n, MIDDLE[n], *PLOVER[n]) for n in ("decision_delay", "relay_release")
    ]
    corners = [decay(*c) for c in product(PLOVER["r"], PLOVER["l"], PLOVER["supply"], PLOVER["i"])]
    middle = decay(*(MIDDLE[n] for n in ("r", "l", "supply", "i")))
    wanted.append(("release", middle, min(corners), max(corners)))
    wanted.append(("plunger", 7e-3, 5e-3, 9e-3))
    rev = cut * 10 / 60  # v_roll per rpm
    pitch = pi * 0.19 / 18
    for name in ("lower", "upper"):
        wanted.append((f"swing {name}", 7e-3, swing(6e-3, 2.7e-3), swing(8e-3, 4.3e-3)))
        wanted.append((f"tooth {name}", 0.5 * pitch / (rev * 1000), 0.0, pitch / (rev * 980)))
    way = [a * 0.19 / 2 for a in (MIDDLE["angle"], *PLOVER["angle"])]
    wanted.append(
        ("rest", 2 * way[0] / (rev * 1000), 2 * way[1] / (rev * 1020), 2 * way[2] / (rev * 980))
    )
    assert [s.name for s in chain.stages] == [w[0] for w in wanted]
    for stage, (_, nominal, low, high) in zip(chain.stages, wanted, strict=True):
        assert (stage.nominal, stage.low, stage.high) == pytest.approx(
            (nominal, low, high), rel=1e-9
        )
    before = sum(w[1] for w in wanted[:4]) + wanted[4][1] + wanted[5][1]
    assert chain.stop_time == pytest.approx(before + wanted[-1][1], rel=1e-9)
    assert chain.travel == pytest.approx(0.97 * (rev * 1000 * before + way[0]), rel=1e-9)
    assert chain.feed_speed == pytest.approx(rev * 1000, rel=1e-12)


def travel_of(v: dict[str, Any], cut: float) -> Any:
    """Travel of the metal, MODEL.md, for plover's inputs; `v` holds arrays or numbers."""
    roll = cut * 10 * v["turning"]
    start = v["supply"] / v["r"]
    release = v["l"] / v["r"] * np.log((start + 0.8 / v["r"]) / (v["i"] + 0.8 / v["r"]))
    before = v["decision_delay"] + v["relay_release"] + release + v["plunger"]
    pitch_time = pi * 0.19 / 18 / roll
    catch = np.maximum(
        *(
            swing(v[f"time_{p}"], v[f"gap_{p}"]) + v[f"phase_{p}"] * pitch_time
            for p in ("lower", "upper")
        )
    )
    return (1 - v["slip"]) * (roll * (before + catch) + v["angle"] * 0.19 / 2)


def test_the_travel_s_limits_are_those_of_all_corners() -> None:
    ends = PLOVER | {"phase_lower": (0.0, 1.0), "phase_upper": (0.0, 1.0)}
    names = [n for n in ends if n != "bar"]
    corners = np.array(list(product((0, 1), repeat=len(names)))).T
    drawn = {n: np.where(c == 0, *ends[n]) for n, c in zip(names, corners, strict=True)}
    travel = travel_of(drawn, 0.014)
    ours = stop_chain(plover(), cut_length=0.014).travel
    assert (ours.low, ours.high) == pytest.approx((travel.min(), travel.max()), rel=1e-9)


DRAWS = 1_000_000


def drawn_plover(seed: int) -> dict[str, Any]:
    rng = np.random.default_rng(seed)
    ends = PLOVER | {"phase_lower": (0.0, 1.0), "phase_upper": (0.0, 1.0)}
    return {name: rng.uniform(*limits, DRAWS) for name, limits in ends.items()}


def close(ours: float, counted: float, draws: int = DRAWS, errors: float = 4.0) -> bool:
    allowed = errors * sqrt(max(ours * (1 - ours), 1.0 / draws) / draws)
    return abs(ours - counted) <= allowed


@pytest.mark.parametrize("cut", [0.010, 0.026, 0.040])
def test_the_chance_of_going_through_is_that_of_a_plain_monte_carlo(cut: float) -> None:
    values = drawn_plover(int(cut * 1e4))
    room = values["bar"] - travel_of(values, cut)
    chances = travel_chances(plover(keeper=False), cut)
    y = np.quantile(room, [1e-4, 1e-3, 0.02, 0.3, 0.7, 0.98])
    ours = chances.late(y)
    for at, p in zip(y, ours, strict=True):
        assert close(float(p), float((room < at).mean())), (at, p, (room < at).mean())
    mean, sd = chances.travel()
    travel = travel_of(values, cut)
    assert mean == pytest.approx(travel.mean(), abs=5 * travel.std() / sqrt(DRAWS))
    assert sd == pytest.approx(travel.std(), rel=5 / sqrt(2 * DRAWS) + 1e-3)


def test_a_race_without_a_piece_has_the_chance_of_a_crossing_above_the_axis() -> None:
    cut = 0.046
    values = drawn_plover(5)
    margin = values["bar"] - travel_of(values, cut)
    one = race(plover(keeper=False), cut_length=cut)
    assert close(one.probability_through, float((margin < 0).mean()))
    assert one.margin == pytest.approx(0.33 - one.travel, abs=1e-12)
    assert one.crossing_y == 0
    assert 1e-4 < one.probability_through < 1
    assert one.margin.sd == pytest.approx(margin.std(), rel=0.01)


# ---- machines whose pawls differ

UNEQUAL = [
    PAWL | {"name": "lower", "clearance": "3 mm +- 0.5 mm", "ratchet_teeth": 24},
    PAWL
    | {
        "name": "upper",
        "clearance": "5 mm +- 1 mm (sd)",
        "swing_time": {"time": "6 ms +- 0.5 ms", "at_clearance": "4 mm"},
        "ratchet_teeth": 12,
        "ratchet_turns_per_roll_turn": 1.7,
    },
]


def unequal(**chain: Any) -> Machine:
    return made(
        feed={"cutterhead_speed": "900 rpm +- 9 rpm (sd)", "slip": "3 % +- 1 % (sd)"},
        chain={"pawls": UNEQUAL, "rest": {"roll_angle": "5 deg +- 1 deg"}} | chain,
    )


def test_unequal_pawls_count_the_later_one() -> None:
    cut = 0.012
    chain = stop_chain(unequal(), cut_length=cut)
    v = cut * 10 * 15
    pitches = pi * 0.19 / 24 / v, pi * 0.19 / (12 * 1.7) / v
    branches = [
        7e-3 * sqrt(3 / 3.5) + pitches[0] / 2,
        6e-3 * sqrt(5 / 4) + pitches[1] / 2,
    ]
    before = 3e-3 + 6e-3 + decay(18, 0.16, 13.2, 0.2) + 7e-3
    rest = 2 * 5 * pi / 180 * 0.095 / v
    assert chain.stop_time == pytest.approx(before + max(branches) + rest, rel=1e-9)
    by_name = {s.name: s for s in chain.stages}
    # limits of (sd) are two standard deviations either side
    slowest = cut * 10 * (15 - 2 * 0.15)
    assert by_name["tooth upper"].high == pytest.approx(pitches[1] * v / slowest, rel=1e-9)
    assert by_name["swing upper"].high == pytest.approx(6.5e-3 * sqrt(7 / 4), rel=1e-9)


def test_unequal_pawls_go_through_as_often_as_in_a_plain_monte_carlo() -> None:
    cut = 0.024
    rng = np.random.default_rng(8)
    turning, slip = rng.normal(15, 0.15, DRAWS), rng.normal(0.03, 0.01, DRAWS)
    roll = cut * 10 * turning
    gap = np.maximum(rng.normal(5e-3, 1e-3, DRAWS), 0)
    upper = rng.uniform(5.5e-3, 6.5e-3, DRAWS) * np.sqrt(gap / 4e-3)
    lower = 7e-3 * np.sqrt(rng.uniform(2.5e-3, 3.5e-3, DRAWS) / 3.5e-3)
    lower += rng.uniform(0, 1, DRAWS) * pi * 0.19 / 24 / roll
    upper += rng.uniform(0, 1, DRAWS) * pi * 0.19 / (12 * 1.7) / roll
    before = 3e-3 + 6e-3 + decay(18, 0.16, 13.2, 0.2) + 7e-3
    angle = rng.uniform(4, 6, DRAWS) * pi / 180
    travel = (1 - slip) * (roll * (before + np.maximum(lower, upper)) + angle * 0.095)
    room = 0.33 - travel
    y = np.quantile(room, [1e-4, 1e-2, 0.5])
    for at, p in zip(y, travel_chances(unequal(), cut).late(y), strict=True):
        assert close(float(p), float((room < at).mean())), (at, p)


# ---- what-ifs


def test_a_what_if_is_the_machine_with_that_field() -> None:
    base = plover(keeper=False)
    for setting, path, text in (
        ({"supply": 10.5}, "chain.supply", "10.5 V"),
        ({"clearance": {"lower": 0.006}}, "chain.pawls.lower.clearance", "6 mm"),
        ({"suppression": {"kind": "zener", "voltage": 24.0}}, None, None),
        ({"knives": 12}, "feed.knives", 12),
    ):
        one = stop_chain(base, cut_length=0.01, **setting)
        if path is None:
            wanted = decay(18, 0.16, 13.2, 0.2, 24.0)
            release = next(s for s in one.stages if s.name == "release")
            assert release.nominal == pytest.approx(wanted, rel=1e-9)
        else:
            other = stop_chain(base.with_settings({path: text}), cut_length=0.01)
            assert one.travel == pytest.approx(other.travel, rel=1e-12)
            assert one.travel != stop_chain(base, cut_length=0.01).travel


def test_without_a_detector_there_is_no_decision() -> None:
    names = [
        s.name for s in stop_chain(made(without=("detector", "sensor")), cut_length=0.01).stages
    ]
    assert names == ["relay_release", "release", "plunger", "swing lower", "tooth lower", "rest"]


# ---- exact tails


def bare_chain(**chain: Any) -> Machine:
    """One pawl without swing, a ratchet so fine that its wait vanishes, no way to rest."""
    still = {
        "pawls": [
            PAWL
            | {
                "swing_time": {"time": "0 s", "at_clearance": "3.5 mm"},
                "ratchet_teeth": 400,
                "ratchet_turns_per_roll_turn": 100,
            }
        ],
        "rest": {"roll_angle": "0 rad"},
        "hold_winding": CHAIN["hold_winding"] | {"release_time": "0 s"},
    }
    feed = chain.pop("feed", {})
    return made(feed=feed, detector={"decision_delay": "0 s"}, chain=still | chain)


def tail(beta: float) -> float:
    return erfc(beta / sqrt(2)) / 2


@pytest.mark.parametrize("wanted", [1e-2, 1e-3, 1e-4, 1e-6, 1e-8])
def test_normal_times_have_the_normal_tail(wanted: float) -> None:
    # all inputs normal, the margin linear in them: P = Phi(-beta) with the sds added in squares
    machine = bare_chain(
        feed={"sensor_to_shear_bar": normal(0.33, 0.004, "m")},
        relay_release=normal(30e-3, 1.5e-3, "s"),
        plunger={"travel_time": normal(40e-3, 2e-3, "s")},
    )
    v = 0.02 * 10 * 1000 / 60
    wait = pi * 0.19 / 40000  # m, one pitch: what is left of the tooth's wait
    sd = sqrt((v * 1.5e-3) ** 2 + (v * 2e-3) ** 2 + 0.004**2 + wait**2 / 12)
    beta = optimize.brentq(lambda b: tail(b) - wanted, 0, 8)
    y = 0.33 - v * 70e-3 - wait / 2 - beta * sd
    ours = float(travel_chances(machine, 0.02).late(y))
    assert ours == pytest.approx(wanted, rel=0.05)


def test_strength_against_load_has_the_textbook_failure_probability() -> None:
    # CHECKS 6.20 (Cornell 1969): R N(7, 1), S N(2, 1): beta 3.535534, Pf 2.034760e-4, posed as
    # the bar's distance (cm) against the way in the relay's time (cm at 1 m/s)
    machine = bare_chain(
        feed={"sensor_to_shear_bar": normal(0.07, 0.01, "m"), "cutterhead_speed": "600 rpm"},
        relay_release=normal(20e-3, 10e-3, "s"),
        plunger={"travel_time": "0 s"},
    )
    ours = float(travel_chances(machine, 0.01).late(0.0))
    assert ours == pytest.approx(2.034760e-4, rel=0.05)


def irwin_hall_tail(n: int, x: float) -> float:
    """P(sum of n uniforms on (0, 1) > n - x): the exact polynomial of the tail."""
    return sum((-1) ** k * comb(n, k) * max(x - k, 0.0) ** n for k in range(n + 1)) / factorial(n)


@pytest.mark.parametrize("wanted", [1e-2, 1e-4, 1e-6])
@pytest.mark.parametrize("parts", [3, 4])
def test_a_sum_of_rectangular_times_has_the_exact_tail(parts: int, wanted: float) -> None:
    width = 4e-3
    times = rect(10e-3, 10e-3 + width, "s")
    hold = CHAIN["hold_winding"] | {"release_time": times}
    chain: dict[str, Any] = {"relay_release": times, "hold_winding": hold}
    chain["plunger"] = {"travel_time": times if parts == 4 else "12 ms"}
    chain["rest"] = {"roll_angle": "0 rad"}
    machine = bare_chain(**chain)
    v = 0.02 * 10 * 1000 / 60
    # the decision is the last uniform: through the detector's own delay
    machine = machine.with_settings({"detector.decision_delay": times})
    n = parts
    offset = n * 10e-3 + (0 if parts == 4 else 12e-3)
    x = optimize.brentq(lambda u: irwin_hall_tail(n, u) - wanted, 0, n / 2)
    wait = pi * 0.19 / 40000 / 2
    y = 0.33 - v * (offset + (n - x) * width) - wait
    ours = float(travel_chances(machine, 0.02).late(y))
    assert ours == pytest.approx(wanted, rel=0.05)


# Two pawls: the chance that the later one has caught, integrated directly.


def two_pawls(swing_text: str, teeth: tuple[int, int]) -> Machine:
    pawls = [
        PAWL
        | {
            "name": name,
            "swing_time": {"time": swing_text, "at_clearance": "3.5 mm"},
            "ratchet_teeth": t,
        }
        for name, t in zip(("lower", "upper"), teeth, strict=True)
    ]
    return bare_chain(
        pawls=pawls, relay_release=rect(20e-3, 26e-3, "s"), plunger={"travel_time": "10 ms"}
    )


def caught_by(t: Any, low: float, high: float, wait: float) -> Any:
    """P(swing + wait <= t), a swing even between low and high and an even wait: a trapezoid."""

    def ramp(x: Any) -> Any:
        return np.maximum(x, 0.0) ** 2 / 2

    width = high - low
    area = ramp(t - low) - ramp(t - high) - ramp(t - low - wait) + ramp(t - high - wait)
    return area / (width * wait)


@pytest.mark.parametrize("wanted", [1e-1, 1e-3, 1e-6])
@pytest.mark.parametrize("teeth", [(18, 18), (18, 30)])
def test_two_pawls_catch_as_late_as_the_direct_integral_says(
    teeth: tuple[int, int], wanted: float
) -> None:
    cut = 0.02
    v = cut * 10 * 1000 / 60
    waits = [pi * 0.19 / t / v for t in teeth]
    low, high = 6e-3, 8e-3

    def late(t: float) -> float:
        """P(relay + last catch > t), over the relay's 20 to 26 ms."""

        def given(relay: float) -> float:
            rest = t - 10e-3 - relay
            return 1 - float(np.prod([caught_by(rest, low, high, w) for w in waits]))

        edges = [t - 10e-3 - e for w in waits for e in (low, high, low + w, high + w)]
        inside = sorted({20e-3, 26e-3, *(e for e in edges if 20e-3 < e < 26e-3)})
        parts = [
            integrate.quad(given, a, b, epsabs=1e-14, epsrel=1e-9)[0] for a, b in pairwise(inside)
        ]
        return sum(parts) / 6e-3

    latest = 10e-3 + 26e-3 + high + max(waits)
    t = optimize.brentq(lambda s: late(s) - wanted, 40e-3, latest - 1e-7, xtol=1e-12)
    y = 0.33 - v * t
    ours = float(travel_chances(two_pawls(rect(low, high, "s"), teeth), cut).late(y))
    assert ours == pytest.approx(wanted, rel=0.05)


@pytest.mark.parametrize("wanted", [1e-2, 1e-6])
def test_the_slip_s_and_the_speed_s_corner_is_right_in_the_far_tail(wanted: float) -> None:
    # margin = D - v (1 - s) t with v, s and t rectangular: P integrated directly
    machine = bare_chain(
        feed={"cutterhead_speed": "1000 rpm +- 5 %", "slip": "0 % .. 10 %"},
        relay_release=rect(50e-3, 60e-3, "s"),
        plunger={"travel_time": "0 s"},
    )
    wait = pi * 0.19 / 40000 / 2
    v0 = 0.02 * 10 * 1000 / 60
    nodes, weights = np.polynomial.legendre.leggauss(400)

    def late(room: float) -> float:
        v = v0 * (1 + 0.05 * nodes)[:, None]
        slip = 0.05 * (1 + nodes)[None, :]
        t = (room / (1 - slip) - wait) / v
        share = np.clip((60e-3 - t) / 10e-3, 0.0, 1.0)
        return float(weights @ share @ weights) / 4

    top = v0 * 1.05 * 60e-3 + wait
    room = optimize.brentq(lambda r: late(r) - wanted, 0.8 * top, top - 1e-9)
    ours = float(travel_chances(machine, 0.02).late(0.33 - room))
    assert ours == pytest.approx(wanted, rel=0.05)


# ---- stages given as parts, against the same motions drawn plainly

PLUNGER_PARTS = {
    "mass": "0.2 kg +- 5 %",
    "travel": "8 mm +- 0.6 mm",
    "spring_force": "35 N +- 10 %",
    "spring_rate": "1000 N/m +- 10 %",
    "friction": "3 N +- 1.5 N",
    "damping": "1.2 N s/m",
    "magnet_gap": "0.45 mm +- 0.045 mm",
}
PAWL_PARTS = {
    "inertia": "0.0005 kg m2 +- 9 %",
    "spring_torque": "1.5 N m +- 0.2 N m",
    "spring_rate": "2.2 N m/rad",
    "friction_torque": "0.12 N m +- 0.08 N m",
    "damping": "0.001 N m s/rad",
    "engagement_depth": "2 mm +- 0.4 mm",
    "tip_radius": "65 mm",
}
REST_PARTS = {
    "inertia": "0.4 kg m2 +- 16 %",
    "stiffness": "18000 N m/rad +- 16 %",
    "slip_torque": "1800 N m +- 20 %",
    "drag_torque": "80 N m +- 30 N m",
}


def by_parts() -> Machine:
    return made(
        feed={"cutterhead_speed": "1000 rpm +- 2 %"},
        chain={
            "supply": "13.2 V +- 0.8 V",
            "plunger": {"parts": PLUNGER_PARTS},
            "pawls": [
                {k: v for k, v in PAWL.items() if k != "swing_time"}
                | {"clearance": "3.5 mm +- 0.8 mm", "parts": PAWL_PARTS}
            ],
            "rest": {"parts": REST_PARTS},
            "hold_winding": CHAIN["hold_winding"] | {"resistance": "18 ohm +- 8 %"},
        },
    )


def test_stages_as_parts_go_through_as_often_as_their_motions_drawn_plainly() -> None:
    cut, n = 0.024, 60_000
    rng = np.random.default_rng(17)

    def off(middle: float, half: float) -> Any:
        return rng.uniform(middle - half, middle + half, n)

    circuit = HoldCircuit(
        inductance=0.16,
        resistance=off(18, 18 * 0.08),
        supply=off(13.2, 0.8),
        clamp_voltage=0.8,
        clamp_resistance=0.08,
    )
    plunger = PlungerParts(
        mass=off(0.2, 0.01),
        travel=off(8e-3, 0.6e-3),
        spring_force=off(35, 3.5),
        spring_rate=off(1000, 100),
        friction=off(3, 1.5),
        damping=1.2,
        gap=off(0.45e-3, 0.045e-3),
    )
    drop, fall = plunger_fall(circuit, plunger)
    pawl = PawlParts(
        inertia=off(5e-4, 4.5e-5),
        spring_torque=off(1.5, 0.2),
        spring_rate=2.2,
        friction_torque=off(0.12, 0.08),
        damping=1e-3,
        engagement_depth=off(2e-3, 0.4e-3),
        tip_radius=0.065,
    )
    swing_time = pawl_swing_time(pawl, off(3.5e-3, 0.8e-3))
    roll = cut * 10 * off(1000 / 60, 1000 / 60 * 0.02)
    rest = WindupParts(
        inertia=off(0.4, 0.064),
        stiffness=off(18000, 2880),
        slip_torque=off(1800, 360),
        drag_torque=off(80, 30),
    )
    angle, _ = windup_angle_and_time(rest, roll, 0.095)
    wait = rng.uniform(0, 1, n) * pi * 0.19 / 18
    travel = roll * (9e-3 + drop + fall + swing_time) + wait + angle * 0.095
    room = 0.33 - travel
    chances = travel_chances(by_parts(), cut)
    y = np.quantile(room, [1e-3, 0.02, 0.5, 0.9])
    for at, p in zip(y, chances.late(y), strict=True):
        assert close(float(p), float((room < at).mean()), n), (at, p, (room < at).mean())
    assert chances.travel()[0] == pytest.approx(
        travel.mean(), abs=4 * travel.std() / sqrt(n) + 1e-5
    )


# ---- one stage with several doubtful inputs of its own, far in its tail

HOLD = {
    "resistance": (18.0, 1.44, "ohm"),
    "inductance": (0.16, 0.024, "H"),
    "release_current": (0.2, 0.03, "A"),
}
SUPPLY = (13.2, 0.8, "V")


def only_the_winding(shape: str) -> Machine:
    """A chain in which nothing is in doubt but the winding's decay."""

    def text(middle: float, half: float, unit: str) -> str:
        if shape == "normal":
            return normal(middle, half / 2, unit)
        return rect(middle - half, middle + half, unit)

    hold = CHAIN["hold_winding"] | {k: text(*v) for k, v in HOLD.items()}
    return bare_chain(
        hold_winding=hold,
        supply=text(*SUPPLY),
        relay_release="6 ms",
        plunger={"travel_time": "7 ms"},
    )


def late_decay(shape: str, t: float) -> float:
    """P(decay > t): the release current's share in closed form, the other three by quadrature."""
    if shape == "normal":
        z = np.linspace(-7, 7, 121)
        u, w = z / 2, np.exp(-(z**2) / 2)
    else:
        x, w = np.polynomial.legendre.leggauss(160)
        s = (1 + x) / 2  # closer together towards either end
        u, w = 2 * (s**2 * (3 - 2 * s)) - 1, w * 6 * s * (1 - s)
    w = w / w.sum()
    r, inductance, supply = (
        (m + h * u).reshape([-1 if i == k else 1 for k in range(3)])
        for i, (m, h, _) in enumerate((HOLD["resistance"], HOLD["inductance"], SUPPLY))
    )
    clamp = 0.8 / r
    least = (supply / r + clamp) * np.exp(-t * r / inductance) - clamp  # current left at t
    middle, half, _ = HOLD["release_current"]
    if shape == "normal":
        from scipy.special import ndtr

        chance = ndtr((least - middle) / (half / 2))
    else:
        chance = np.clip((least - (middle - half)) / (2 * half), 0, 1)
    return float(np.einsum("ijk,i,j,k->", chance, w, w, w))


@pytest.mark.parametrize("wanted", [1e-2, 1e-4, 1e-6])
@pytest.mark.parametrize("shape", ["rectangular", "normal"])
def test_the_winding_s_own_tail_is_the_direct_integral_s(shape: str, wanted: float) -> None:
    t = optimize.brentq(lambda s: late_decay(shape, s) - wanted, 0.012, 0.04, xtol=1e-7)
    v, wait = 0.02 * 10 * 1000 / 60, pi * 0.19 / 40000 / 2
    y = 0.33 - v * (t + 13e-3) - wait
    ours = float(travel_chances(only_the_winding(shape), 0.02).late(y))
    assert ours == pytest.approx(wanted, rel=0.05)


@pytest.mark.parametrize("wanted", [1e-2, 1e-4, 1e-6])
@pytest.mark.parametrize("which", ["bar", "speed", "slip"])
@pytest.mark.parametrize("shape", ["rectangular", "normal"])
def test_a_length_or_a_speed_alone_in_doubt_has_its_own_tail(
    shape: str, which: str, wanted: float
) -> None:
    # one tooth's wait, even over a pitch, and one doubtful length or speed; P integrated directly
    size = {"bar": 0.02, "speed": 0.04, "slip": 0.05}[which]  # half width, or two sds
    teeth = 36
    cut, pitch = 0.02, pi * 0.19 / 36
    base = cut * 10 * 1000 / 60
    middle = {"bar": 0.33, "speed": 1000 / 60, "slip": 0.05}[which]
    unit = {"bar": "m", "speed": "rev/s", "slip": "%"}[which]
    scale = {"bar": 1.0, "speed": 1000 / 60, "slip": 1.0}[which]
    shown = 100 if which == "slip" else 1
    half = size * scale
    text = (
        normal(middle * shown, half / 2 * shown, unit)
        if shape == "normal"
        else rect((middle - half) * shown, (middle + half) * shown, unit)
    )
    field = {"bar": "sensor_to_shear_bar", "speed": "cutterhead_speed", "slip": "slip"}[which]
    machine = bare_chain(
        feed={field: text},
        relay_release="50 ms",
        plunger={"travel_time": "0 s"},
        pawls=[
            PAWL | {"swing_time": {"time": "0 s", "at_clearance": "3.5 mm"}, "ratchet_teeth": teeth}
        ],
    )
    z = np.linspace(-8, 8, 40_001) if shape == "normal" else np.linspace(-1, 1, 200_001)
    w = np.exp(-(z**2) / 2) if shape == "normal" else np.ones_like(z)
    w = w / w.sum()
    off = z * (half / 2 if shape == "normal" else half)

    def late(y: float) -> float:
        bar = 0.33 + (off if which == "bar" else 0.0) - y
        v = base * (1 + (off / scale if which == "speed" else 0.0))
        keep = 1 - (0.05 + off if which == "slip" else 0.0)
        left = bar / keep - v * 50e-3
        return float(w @ np.broadcast_to(np.clip(1 - left / pitch, 0, 1), z.shape))

    y = optimize.brentq(lambda s: late(s) - wanted, 0.33 - 0.32, 0.33 - 0.05)
    assert float(travel_chances(machine, cut).late(y)) == pytest.approx(wanted, rel=0.05)
