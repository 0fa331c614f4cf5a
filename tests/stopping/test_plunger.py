"""The plunger: what must hold for any spring, magnet and clamp."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from tripmargin.stopping.plunger import HoldCircuit, PlungerParts, plunger_fall

CIRCUIT = HoldCircuit(
    inductance=0.1, resistance=12.9, supply=13.6, clamp_voltage=0.8, clamp_resistance=0.05
)
PLUNGER = PlungerParts(
    mass=0.18,
    travel=8e-3,
    spring_force=50.0,
    spring_rate=1500.0,
    friction=3.5,
    damping=1.5,
    gap=0.4e-3,
)


def total(circuit: HoldCircuit, parts: PlungerParts, *, motional: bool = True) -> Any:
    decay, fall = plunger_fall(circuit, parts, motional=motional)
    return np.asarray(decay) + np.asarray(fall)


@given(less=st.floats(0, 300), more=st.floats(0, 300))
def test_more_resistance_in_the_clamp_is_faster(less: float, more: float) -> None:
    less, more = sorted((less, more))
    times = total(replace(CIRCUIT, clamp_resistance=np.array([less, more])), PLUNGER)
    assert times[1] <= times[0] + 1e-9


@given(less=st.floats(0, 60), more=st.floats(0, 60))
def test_more_voltage_in_the_clamp_is_faster(less: float, more: float) -> None:
    less, more = sorted((less, more))
    times = total(replace(CIRCUIT, clamp_voltage=np.array([less, more])), PLUNGER)
    assert times[1] <= times[0] + 1e-9


@given(less=st.floats(0, 30), more=st.floats(0, 30))
def test_more_supply_is_slower(less: float, more: float) -> None:
    less, more = sorted((less, more))
    times = total(replace(CIRCUIT, supply=np.array([less, more])), PLUNGER)
    assert times[0] <= times[1] + 1e-9


@given(less=st.floats(1e-4, 12e-3), more=st.floats(1e-4, 12e-3))
def test_more_travel_is_slower(less: float, more: float) -> None:
    less, more = sorted((less, more))
    times = total(CIRCUIT, replace(PLUNGER, travel=np.array([less, more])))
    assert times[0] <= times[1] + 1e-9


clamp_voltage = st.floats(0, 60)
clamp_resistance = st.floats(0, 500)


@given(voltage=clamp_voltage, resistance=clamp_resistance)
def test_leaving_the_back_emf_out_shortens_the_fall(voltage: float, resistance: float) -> None:
    # The moving plunger thins the flux, the winding answers with more current and holds it back.
    circuit = replace(CIRCUIT, clamp_voltage=voltage, clamp_resistance=resistance)
    assert total(circuit, PLUNGER, motional=False) <= total(circuit, PLUNGER) + 1e-9


def test_the_back_emf_matters_behind_a_diode_and_hardly_without_suppression() -> None:
    # Behind a diode the flux lives as long as the fall; with none it is gone before it starts.
    gone = replace(CIRCUIT, clamp_voltage=0.0, clamp_resistance=3000.0)
    for circuit, at_least, at_most in ((CIRCUIT, 3e-4, 5e-3), (gone, 0.0, 1e-7)):
        cost = total(circuit, PLUNGER) - total(circuit, PLUNGER, motional=False)
        assert at_least <= cost <= at_most


def test_without_a_magnet_the_plunger_flies_as_a_spring_drives_a_mass() -> None:
    # Oscillator texts: x = (F/k)(1 - cos wt) with no drag; supply nil, so no flux at all.
    parts = replace(PLUNGER, damping=0.0)
    decay, fall = plunger_fall(replace(CIRCUIT, supply=0.0), parts)
    pace = np.sqrt(1500 / 0.18)
    assert decay == 0
    assert fall == pytest.approx(np.arccos(1 - 1500 * 8e-3 / 46.5) / pace, abs=1e-9)


def by_stiff_solver(circuit: HoldCircuit, parts: PlungerParts) -> float:
    """Fall time by scipy's Radau on flux itself, no friction needed once it moves on."""
    c, p = circuit, parts
    two_la = 2 * c.inductance * p.gap
    flux = min(
        np.sqrt(two_la * (p.spring_force - p.friction)), c.inductance * c.supply / c.resistance
    )

    def slopes(_: float, y: np.ndarray) -> list[float]:
        x, speed, lam = y
        current = lam * (1 + x / p.gap) / c.inductance
        emf = (c.resistance + c.clamp_resistance) * current + c.clamp_voltage
        force = p.spring_force - p.spring_rate * x - lam**2 / two_la - p.friction
        return [speed, (force - p.damping * speed) / p.mass, -emf if lam > 0 else 0.0]

    def there(_: float, y: np.ndarray) -> float:
        return float(y[0] - p.travel)

    there.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(
        slopes, (0, 1), [0, 0, flux], "Radau", events=there, rtol=1e-9, atol=1e-12, max_step=2e-5
    )
    return float(run.t_events[0][0])


@settings(max_examples=6, deadline=None)
@given(
    inductance=st.floats(0.05, 0.3),
    spring_force=st.floats(30, 80),
    gap=st.floats(0.2e-3, 2e-3),
    damping=st.floats(0, 20),
    supply=st.floats(4, 16),
    clamp_voltage=st.floats(0, 40),
)
def test_any_plunger_falls_as_a_stiff_solver_says(**v: float) -> None:
    # scipy.integrate.solve_ivp, Radau at tight tolerance, on the flux form as printed.
    circuit = replace(
        CIRCUIT,
        inductance=v["inductance"],
        supply=v["supply"],
        clamp_voltage=v["clamp_voltage"],
    )
    parts = replace(PLUNGER, spring_force=v["spring_force"], gap=v["gap"], damping=v["damping"])
    _, fall = plunger_fall(circuit, parts)
    assert fall == pytest.approx(by_stiff_solver(circuit, parts), abs=1e-7)


def test_a_spring_weaker_than_its_friction_never_lets_go() -> None:
    decay, fall = plunger_fall(CIRCUIT, replace(PLUNGER, spring_force=np.array([50.0, 3.5, 1.0])))
    assert np.isfinite(decay).tolist() == [True, False, False]
    assert np.isfinite(fall).tolist() == [True, False, False]


def test_a_spring_that_runs_out_on_the_way_leaves_the_plunger_stuck() -> None:
    # Lets go, but the spring's work over the travel is below zero: 46.5 x - 6000 x^2 at 8 mm.
    decay, fall = plunger_fall(CIRCUIT, replace(PLUNGER, spring_rate=12_000.0))
    assert np.isfinite(decay)
    assert fall == np.inf


def test_a_plunger_that_creeps_in_thick_grease_arrives_or_is_called_stuck() -> None:
    # Drag alone: far enough spring creeps there, one that rests short of the travel does not.
    parts = replace(PLUNGER, damping=1000.0, spring_rate=np.array([1500.0, 6000.0]))
    _, fall = plunger_fall(CIRCUIT, parts)
    assert 0.15 < fall[0] < 0.3
    assert fall[1] == np.inf


def test_a_plunger_held_on_its_way_moves_on_when_the_magnet_has_faded() -> None:
    # A stiff spring and a magnet that fades over 2 s: the plunger follows the fading force.
    slow = replace(
        CIRCUIT, inductance=10.0, resistance=5.0, clamp_voltage=0.0, clamp_resistance=0.0
    )
    parts = replace(PLUNGER, spring_rate=5000.0, gap=0.1)
    _, fall = plunger_fall(slow, parts)
    assert 0.1 < fall < 10.0


def test_a_current_already_below_release_starts_at_once_from_where_it_is() -> None:
    decay, fall = plunger_fall(replace(CIRCUIT, supply=np.array([0.0, 2.0, 6.0, 13.6])), PLUNGER)
    assert decay[:3].tolist() == [0, 0, 0]
    assert decay[3] > 0
    assert np.all(np.diff(fall) > 0)


def test_scalars_give_floats_and_arrays_their_common_shape() -> None:
    assert all(type(t) is float for t in plunger_fall(CIRCUIT, PLUNGER))
    decay, fall = plunger_fall(
        replace(CIRCUIT, supply=np.array([[12.0], [13.6]])),
        replace(PLUNGER, mass=np.array([0.1, 0.18, 0.3])),
    )
    assert decay.shape == fall.shape == (2, 3)
    assert (decay[1, 1], fall[1, 1]) == pytest.approx(plunger_fall(CIRCUIT, PLUNGER), abs=1e-12)


@pytest.mark.parametrize("name", ["mass", "travel", "gap"])
@pytest.mark.parametrize("value", [0.0, -1.0, float("nan"), float("inf")])
def test_an_impossible_plunger_is_refused_by_name(name: str, value: float) -> None:
    with pytest.raises(ValueError, match=name):
        replace(PLUNGER, **{name: value})


def test_an_impossible_circuit_is_refused_by_name() -> None:
    for name in ("inductance", "resistance", "supply", "clamp_voltage", "clamp_resistance"):
        with pytest.raises(ValueError, match=name):
            replace(CIRCUIT, **{name: -1.0})
