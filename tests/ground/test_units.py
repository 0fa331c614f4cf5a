"""Units against their definitions, and shown values against what they came from."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tripmargin.ground.quantities import quantity
from tripmargin.ground.units import DIMENSIONS, from_si, shown

EVERY_UNIT = [(d.name, unit) for d in DIMENSIONS.values() for unit in d.units]


# NIST SP 811 (2008), appendix B.8, from memory: 1 in = 25.4 mm, 1 ft = 0.3048 m and
# 1 lb = 0.45359237 kg exactly; 1 lbf = 4.4482216152605 N; 1 lbf ft = 1.3558179483314004 N m;
# 1 gauss = 1e-4 T; degF to degC: (t - 32) / 1.8.
@pytest.mark.parametrize(
    ("text", "dimension", "si"),
    [
        ("1 in", "length", 0.0254),
        ("1 ft", "length", 0.3048),
        ("13 1/4 in", "length", 13.25 * 0.0254),
        ("3/8 in", "length", 0.375 * 0.0254),
        ("1 lb", "mass", 0.45359237),
        ("16 oz", "mass", 0.45359237),
        ("1 lbf", "force", 4.4482216152605),
        ("1 lbf ft", "torque", 1.3558179483314004),
        ("12 lbf in", "torque", 1.3558179483314004),
        ("1 lbf/in", "stiffness", 4.4482216152605 / 0.0254),
        ("3.8 kG", "flux density", 0.38),
        ("60 rpm", "rotation", 1.0),
        ("36 km/h", "speed", 10.0),
        ("1 ft/min", "speed", 0.00508),
        ("180 deg", "angle", math.pi),
        ("212 degF", "temperature", 373.15),
        ("100 degC", "temperature", 373.15),
        ("1 lb ft2", "moment of inertia", 0.45359237 * 0.3048**2),
        ("3 %", "fraction", 0.03),
    ],
)
def test_a_unit_is_what_its_definition_says(text: str, dimension: str, si: float) -> None:
    assert quantity(text, dimension).nominal == pytest.approx(si, rel=1e-14)


@pytest.mark.parametrize(("dimension", "unit"), EVERY_UNIT)
@given(value=st.floats(min_value=-1e6, max_value=1e6, allow_subnormal=False))
def test_a_value_survives_the_way_to_si_and_back(dimension: str, unit: str, value: float) -> None:
    there = quantity(f"{value!r} {unit}", dimension).nominal
    assert from_si(there, dimension, unit) == pytest.approx(value, rel=1e-12, abs=1e-9)


@pytest.mark.parametrize("us", [False, True], ids=["metric", "US"])
@pytest.mark.parametrize("dimension", list(DIMENSIONS))
@given(value=st.floats(min_value=1e-3, max_value=1e4))
def test_what_is_shown_reads_back_as_the_same_value(dimension: str, us: bool, value: float) -> None:
    read = quantity(shown(value, dimension, us=us, digits=12), dimension).nominal
    assert read == pytest.approx(value, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("dimension", list(DIMENSIONS.values()), ids=lambda d: d.name)
def test_each_dimension_can_show_its_units_and_read_its_own_example(dimension: object) -> None:
    assert dimension.metric in dimension.units  # type: ignore[attr-defined]
    assert dimension.us in dimension.units  # type: ignore[attr-defined]
    for example in dimension.example.split('"')[1::2]:  # type: ignore[attr-defined]
        quantity(example, dimension.name)  # type: ignore[attr-defined]


def test_large_numbers_are_shown_without_an_exponent() -> None:
    assert shown(1e6, "resistance") == "1000000 ohm"
    assert shown(1e-6, "current") == "0.000001 A"
