"""Stages as models: their inputs, their limits, what replaces what."""

from __future__ import annotations

from itertools import product
from typing import Any

import numpy as np
import pytest

from tests.made_machines import CHAIN, PAWL, made
from tripmargin.ground.errors import NotKnownError
from tripmargin.machine import Machine
from tripmargin.stopping.stages import StageModel, pawls_of, rest_angle, serial_stages, swing_stage

PLUNGER_PARTS = {
    "mass": "0.2 kg +- 5 %",
    "travel": "8 mm +- 0.6 mm",
    "spring_force": "35 N +- 10 %",
    "spring_rate": "1000 N/m",
    "friction": "3 N +- 1.5 N",
    "magnet_gap": "0.45 mm",
}
HOLD = CHAIN["hold_winding"]


def stage(machine: Machine, name: str) -> StageModel:
    return next(m for m in serial_stages(machine) if name in m.names)


def machines() -> dict[str, Machine]:
    wide: dict[str, Any] = {
        "resistance": "18 ohm +- 8 %",
        "inductance": "0.16 H +- 15 %",
        "release_current": "0.2 A +- 15 %",
    }
    supply = {"supply": "13.2 V +- 0.8 V"}
    kinds = {
        "diode": {"kind": "diode", "voltage": "0.8 V +- 0.1 V"},
        "zener": {"kind": "zener", "voltage": "24 V +- 2 V"},
        "resistor": {"kind": "resistor", "resistance": "82 ohm +- 5 %"},
    }
    found = {
        kind: made(chain=supply | {"hold_winding": HOLD | wide | {"suppression": s}})
        for kind, s in kinds.items()
    }
    found["warm"] = made(
        chain=supply | {"hold_winding": HOLD | wide | {"temperature": "60 degC +- 20 K"}}
    )
    found["plunger as parts"] = made(chain=supply | {"plunger": {"parts": PLUNGER_PARTS}})
    return found


@pytest.mark.parametrize("name", ["diode", "zener", "resistor", "warm", "plunger as parts"])
def test_limits_are_those_of_all_corners(name: str) -> None:
    model = stage(machines()[name], "release")
    ends = [(q.low, q.high) for _, q in model.uncertain]
    corners = np.array(list(product(*ends))).T
    values = {path: row for (path, _), row in zip(model.uncertain, corners, strict=True)}
    for times, (low, high), nominal in zip(
        model.at(values), model.limits(), model.nominal(), strict=True
    ):
        assert (low, high) == pytest.approx((times.min(), times.max()), rel=1e-6)
        assert low <= nominal <= high


def test_a_warm_winding_has_less_current_and_lets_go_sooner() -> None:
    # copper: 0.393 % a kelvin (IEC 60028, from memory); less current to fall from
    cold, warm = (
        stage(made(chain={"hold_winding": HOLD | {"temperature": t}}), "release").nominal()[0]
        for t in ("20 degC", "80 degC")
    )
    assert warm < cold
    plain = stage(made(), "release").nominal()[0]
    assert cold == pytest.approx(plain, rel=1e-9)


def test_a_measured_release_takes_the_place_of_the_computed_one() -> None:
    machine = made(
        chain={"hold_winding": {"release_time": "8 ms", "suppression": {"kind": "none"}}}
    )
    assert stage(machine, "release").nominal() == (0.008,)
    parts = {"plunger": {"parts": PLUNGER_PARTS}}
    both = made(chain=parts | {"hold_winding": HOLD | {"release_time": "8 ms"}})
    assert [m.names for m in serial_stages(both)][-2:] == [("release",), ("plunger",)]
    together = made(chain=parts)
    assert serial_stages(together)[-1].names == ("release", "plunger")
    # falling free of the magnet takes less than falling while the flux still holds back
    assert stage(both, "plunger").nominal()[0] < serial_stages(together)[-1].nominal()[1]


def test_a_swing_goes_with_the_root_of_the_clearance() -> None:
    for gap, factor in (("3.5 mm", 1.0), ("14 mm", 2.0), ("0 mm", 0.0)):
        machine = made(chain={"pawls": [PAWL | {"clearance": gap}]})
        (pawl,) = pawls_of(machine)
        assert swing_stage(machine, pawl).nominal()[0] == pytest.approx(7e-3 * factor, abs=1e-12)


def test_what_is_missing_is_named() -> None:
    hold = {k: v for k, v in HOLD.items() if k != "inductance"}
    with pytest.raises(NotKnownError, match="inductance"):
        serial_stages(made(chain={"hold_winding": hold}))
    with pytest.raises(NotKnownError, match="pawls"):
        pawls_of(made(chain={"pawls": []}))


def test_the_rest_as_parts_turns_further_at_a_higher_speed() -> None:
    parts = {
        "inertia": "0.4 kg m2",
        "stiffness": "18000 N m/rad",
        "slip_torque": "1800 N m",
        "drag_torque": "80 N m",
    }
    machine = made(chain={"rest": {"parts": parts}})
    slow, fast = (rest_angle(machine, v).nominal()[0] for v in (1.0, 3.0))
    assert 0 < slow < fast
    plain = made(chain={"rest": {"roll_angle": "4 deg"}})
    assert rest_angle(plain, 1.0).nominal() == rest_angle(plain, 3.0).nominal()


def test_inputs_out_of_a_normal_tail_make_no_nonsense() -> None:
    # a wide (sd) draws clearances, frictions and delays below nothing
    pawl = PAWL | {"clearance": "1 mm +- 1 mm (sd)"}
    machine = made(chain={"pawls": [pawl], "relay_release": "2 ms +- 2 ms (sd)"})
    swing = swing_stage(machine, pawls_of(machine)[0])
    relay = stage(machine, "relay_release")
    for model, path in ((swing, "chain.pawls.lower.clearance"), (relay, "chain.relay_release")):
        drawn = np.linspace(-0.01, 0.01, 11)
        times = model.at({path: drawn})[0]
        assert np.isfinite(times).all()
        assert (times >= 0).all()


def test_models_that_give_other_times_are_not_equal() -> None:
    # Limits are remembered by the model: all that its times follow from must tell two apart.
    fitted = [
        made(chain={"hold_winding": HOLD | {"suppression": {"kind": kind, "voltage": "3 V"}}})
        for kind in ("diode", "zener")
    ]
    assert len({stage(machine, "release") for machine in fitted}) == 2
    parts = {"inertia": "0.4 kg m2", "stiffness": "18000 N m/rad", "slip_torque": "1800 N m",
             "drag_torque": "80 N m"}  # fmt: skip
    turning = [made(chain={"rest": {"parts": parts}}, feed={"roll_diameter": d})
               for d in ("160 mm", "170 mm")]  # fmt: skip
    models = [rest_angle(machine, speed) for machine in turning for speed in (1.0, 2.0)]
    assert len(set(models)) == 4
    assert len({model.limits() for model in models}) > 1
    assert stage(fitted[0], "release") == stage(fitted[0], "release")
