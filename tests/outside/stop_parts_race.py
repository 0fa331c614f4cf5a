"""The whole stop of the reference cases, put together from the parts under test."""

from __future__ import annotations

import json
import os
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tripmargin.stopping.pawl_swing import PawlParts, pawl_swing_time
from tripmargin.stopping.plunger import HoldCircuit, PlungerParts, plunger_fall
from tripmargin.stopping.release import copper_resistance
from tripmargin.stopping.windup import WindupParts, windup_angle_and_time

REFERENCE = Path(__file__).parents[2] / "../shared/ref/chain/chain_cases_open.json"


@cache
def reference() -> dict[str, Any]:
    """The open cases; without them nothing here can be checked, so CI fails."""
    if not REFERENCE.exists():
        if os.environ.get("CI") == "true":
            pytest.fail(f"no reference cases at {REFERENCE}")
        pytest.skip(f"NOT CHECKED: the stop's reference cases are absent ({REFERENCE})")
    cases: dict[str, Any] = json.loads(REFERENCE.read_text())
    return cases


def cases(kind: str) -> list[dict[str, Any]]:
    return [case for case in reference()["open"] if case["kind"] == kind]


def nominal(machine: str) -> dict[str, Any]:
    table = reference()["machines"][machine]["parameters"]
    return {name: row["nominal"] for name, row in table.items()}


def drawn(machine: str, n: int, seed: int) -> dict[str, Any]:
    """Independent draws: normal, clipped at 4 standard deviations, or uniform."""
    rng = np.random.default_rng(seed)
    values = {}
    for name, row in reference()["machines"][machine]["parameters"].items():
        if row["dist"] == "normal_sd":
            spread = np.clip(rng.standard_normal(n), -4, 4)
        else:
            spread = rng.uniform(-1, 1, n)
        values[name] = row["nominal"] + row["tol"] * spread
    return values | {"phase": rng.uniform(0, 1, n)}


def before_wait(
    machine: str, p: dict[str, Any], *, suppression: str, motional: bool
) -> dict[str, Any]:
    """Stages that do not depend on the cut length, in seconds."""
    voltage, resistance = reference()["machines"][machine]["clamp_law_V0_R1"][suppression]
    circuit = HoldCircuit(
        inductance=p["L0"],
        resistance=copper_resistance(p["R20"], p["temp"]),
        supply=p["supply"],
        clamp_voltage=voltage,
        clamp_resistance=resistance,
    )
    plunger = PlungerParts(
        mass=p["mP"],
        travel=p["travel"],
        spring_force=p["F0"],
        spring_rate=p["kS"],
        friction=p["Fc"],
        damping=p["cP"],
        gap=p["a"],
    )
    pawl = PawlParts(
        inertia=p["JP"],
        spring_torque=p["T0"],
        spring_rate=p["kP"],
        friction_torque=p["TF"],
        damping=p["bP"],
        engagement_depth=p["depth"],
        tip_radius=p["rT"],
    )
    decay, fall = plunger_fall(circuit, plunger, motional=motional)
    swing = pawl_swing_time(pawl, p["clearance"])
    given = p["t_filter"] + p["t_logic"] + p["t_relay"] + p["t_link"]
    stages = {"decay": decay, "plunger": fall, "pawl": swing}
    return stages | {"before_wait": given + decay + fall + swing}


def at_cut(
    machine: str, p: dict[str, Any], stages: dict[str, Any], cut: float, phase: Any
) -> dict[str, Any]:
    """The rest of the race at one cut length, named as in the reference."""
    data = reference()["machines"][machine]
    speed = cut * data["knives"] * p["rev_s"]
    # The reference keeps the pitch when it varies the roll's radius, so it is the nominal one here.
    pitch = (
        2
        * np.pi
        * data["parameters"]["rR"]["nominal"]
        / (data["ratchet_teeth"] * data["ratchet_ratio"])
    )
    wait = phase * pitch / speed
    parts = WindupParts(
        inertia=p["JR"], stiffness=p["kR"], slip_torque=p["TS"], drag_torque=p["TD"]
    )
    angle, windup = windup_angle_and_time(parts, speed, p["rR"])
    travel = (1 - p["slip"]) * (speed * (stages["before_wait"] + wait) + p["rR"] * angle)
    return {
        "feed_speed_m_s": speed,
        "mat_speed_m_s": speed * (1 - p["slip"]),
        "wait_s": wait,
        "windup_s": windup,
        "stop_time_s": stages["before_wait"] + wait + windup,
        "travel_m": travel,
        "margin_m": p["d_axis_nip"] + p["d_nip_bar"] - p["y_cross"] - travel,
    }
