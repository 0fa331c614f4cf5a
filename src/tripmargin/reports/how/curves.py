"""What runs between the instants of a stop: current, plunger and pawls, from the stages' models."""

from __future__ import annotations

from math import exp, isfinite, log
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.reports.how.inputs import Values
from tripmargin.stopping import (
    HoldCircuit,
    PawlParts,
    PlungerParts,
    clamp,
    copper_resistance,
    pawl_swing_time,
    plunger_fall,
)

Array = NDArray[np.float64]
Curve = dict[str, list[float]]
_HOLD = "chain.hold_winding."
_PLUNGER = "chain.plunger.parts."
_SHARES = np.linspace(0.0, 1.0, 41)
_POINTS = 60


def few(values: Any) -> list[float]:
    """Numbers of a curve, to six digits: they are drawn, not reckoned with."""
    return [float(f"{value:.6g}") for value in np.asarray(values, dtype=float)]


def current_curve(values: Values, opens: float, lets_go: float) -> dict[str, Any] | None:
    """The hold winding's current from the instant that its supply is cut, A.

    Parameters
    ----------
    values : Values
    opens : float, s
        When the supply is cut.
    lets_go : float, s
        When the spring wins; infinite where it never does.

    Returns
    -------
    dict or None
        `hold` and `release` in A, and `t`, `i`; None where the file gives the decay as a measured
        time, or no inductance: then the curve is not known.

    Notes
    -----
    (I0 + off) exp(-t / tau) - off, with the time constant of `release_time`, or, where the plunger
    is computed from its parts, of `plunger_fall`. The moving plunger's back-emf is left out.
    """
    chain = values.machine.chain
    known = values.knows(_HOLD + "inductance", _HOLD + "resistance", "chain.supply")
    if chain is None or chain.hold_winding.release_time is not None or not known:
        return None
    resistance = _resistance(values)
    hold = max(values("chain.supply"), 0.0) / resistance
    tau, off = _decay(values, resistance)
    release = (hold + off) * exp(-(lets_go - opens) / tau) - off if tau > 0 else None
    if values.knows(_HOLD + "release_current") and chain.plunger.parts is None:
        release = values(_HOLD + "release_current")
    if release is None or not isfinite(lets_go):
        return None
    last = tau * log((hold + off) / max(off, 0.005 * hold)) if tau > 0 else 0.0
    spans = np.linspace(0.0, max(last, 1.2 * (lets_go - opens)), _POINTS)
    fallen = np.maximum((hold + off) * np.exp(-spans / tau) - off, 0.0) if tau > 0 else 0 * spans
    t, i = [opens, *(opens + spans)], [hold, *fallen]
    return {"hold": hold, "release": release, "t": few(t), "i": few(i)}


def _resistance(values: Values) -> float:
    cold, warm = values(_HOLD + "resistance"), _HOLD + "temperature"
    if not values.knows(warm):
        return cold
    return float(np.asarray(copper_resistance(cold, values(warm) - 273.15)))


def _suppression(values: Values) -> dict[str, Any]:
    chain = values.machine.chain
    assert chain is not None
    made: dict[str, Any] = {"kind": chain.hold_winding.suppression.kind}
    for name in ("resistance", "voltage"):
        if values.knows(f"{_HOLD}suppression.{name}"):
            made[name] = max(values(f"{_HOLD}suppression.{name}"), 0.0)
    return made


def _decay(values: Values, resistance: float) -> tuple[float, float]:
    """Time constant, s, and the current below zero that it tends to, A."""
    inductance, fitted = values(_HOLD + "inductance"), _suppression(values)
    chain = values.machine.chain
    assert chain is not None
    if chain.plunger.parts is not None:
        voltage, outside = (float(np.asarray(part)) for part in clamp(fitted))
        return inductance / (resistance + outside), voltage / (resistance + outside)
    if fitted["kind"] == "none":
        return 0.0, 0.0
    if fitted["kind"] == "resistor":
        return inductance / (resistance + fitted["resistance"]), 0.0
    return inductance / resistance, fitted["voltage"] / resistance


def plunger_curve(values: Values, begins: float, ends: float) -> dict[str, Any]:
    """The plunger's way, 0 held to 1 out, and whether it is computed.

    Notes
    -----
    With parts, `plunger_fall` says how long each part of the way takes. Without, only the time is
    known: a constant push from rest is drawn.
    """
    chain = values.machine.chain
    assert chain is not None
    travel = values(_PLUNGER + "travel") if chain.plunger.parts is not None else None
    made: dict[str, Any] = {"travel": travel, "computed": False, "t": [], "x": []}
    if not (isfinite(begins) and isfinite(ends)):
        return made
    spans, computed = _SHARES**0.5 * (ends - begins), False
    if travel is not None and chain.hold_winding.release_time is None:
        spans, computed = _fall(values, travel), True
    return made | {"computed": computed, "t": few(begins + spans), "x": few(_SHARES)}


def _fall(values: Values, travel: float) -> Array:
    voltage, outside = clamp(_suppression(values))
    circuit = HoldCircuit(
        inductance=values(_HOLD + "inductance"),
        resistance=_resistance(values),
        supply=max(values("chain.supply"), 0.0),
        clamp_voltage=voltage,
        clamp_resistance=outside,
    )
    parts = PlungerParts(
        mass=values(_PLUNGER + "mass"),
        travel=_SHARES[1:] * travel,
        spring_force=values(_PLUNGER + "spring_force"),
        spring_rate=max(values(_PLUNGER + "spring_rate"), 0.0),
        friction=max(values(_PLUNGER + "friction"), 0.0),
        damping=max(values(_PLUNGER + "damping", 0.0), 0.0),
        gap=values(_PLUNGER + "magnet_gap"),
    )
    return np.concatenate([[0.0], np.asarray(plunger_fall(circuit, parts)[1])])


def pawl_curve(values: Values, name: str, begins: float, ends: float) -> Curve:
    """A pawl's tip on its way to the ratchet, 0 held out to 1 swung in.

    Notes
    -----
    With parts, `pawl_swing_time` says how long each part of the way takes; without, the way goes
    with the square of the time (models page, Stopping).
    """
    if not (isfinite(begins) and isfinite(ends)):
        return {"t": [], "x": []}
    place = f"chain.pawls.{name}."
    spans = _SHARES**0.5 * (ends - begins)
    if values.knows(place + "parts.inertia"):
        spans = _swing(values, place)
    return {"t": few(begins + spans), "x": few(_SHARES)}


def _swing(values: Values, place: str) -> Array:
    part = place + "parts."
    way = max(values(place + "clearance"), 0.0) + max(values(part + "engagement_depth", 0.0), 0.0)
    parts = PawlParts(
        inertia=values(part + "inertia"),
        spring_torque=values(part + "spring_torque"),
        spring_rate=max(values(part + "spring_rate", 0.0), 0.0),
        friction_torque=max(values(part + "friction_torque", 0.0), 0.0),
        damping=max(values(part + "damping", 0.0), 0.0),
        engagement_depth=0.0,
        tip_radius=values(part + "tip_radius"),
    )
    times = np.asarray(pawl_swing_time(parts, _SHARES[1:] * way))
    return np.concatenate([[0.0], times])
