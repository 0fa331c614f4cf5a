"""Quantities as people write them, and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tripmargin.ground.errors import QuantityError
from tripmargin.ground.quantities import Quantity, quantity
from tripmargin.ground.units import DIMENSIONS


def test_the_standard_deviation_of_limits_is_half_their_width_over_root_three() -> None:
    # JCGM 100:2008, 4.3.7: u(x) = a / sqrt(3) for bounds x - a, x + a.
    read = quantity("330 mm +- 4 mm", "length")
    assert (read.low, read.high) == pytest.approx((0.326, 0.334))
    assert read.sd == pytest.approx(0.004 / math.sqrt(3), rel=1e-12)


def test_a_percentage_is_of_the_value_except_behind_a_value_in_per_cent() -> None:
    speed = quantity("1000 rpm +- 2 %", "rotation")
    assert (speed.low * 60, speed.high * 60) == pytest.approx((980, 1020))
    slip = quantity("3 % +- 1 %", "fraction")
    assert (slip.low, slip.high) == pytest.approx((0.02, 0.04))


def test_the_low_and_high_of_a_normal_value_are_two_standard_deviations_away() -> None:
    read = quantity("3.5 mm +- 0.4 mm (sd)", "length")
    assert read.shape == "normal"
    assert (read.low, read.high, read.sd) == pytest.approx((0.0027, 0.0043, 0.0004))
    # Standard normal table: P(Z < 1.959964) = 0.975 (NIST/SEMATECH e-Handbook 1.3.6.7.1).
    assert float(read.ppf(0.975)) == pytest.approx(0.0035 + 1.959964 * 0.0004, rel=1e-6)


def test_two_limits_are_read_as_their_middle() -> None:
    read = quantity("2 ms .. 4 ms", "time")
    assert (read.nominal, read.low, read.high) == pytest.approx((0.003, 0.002, 0.004))


@pytest.mark.parametrize(
    "text",
    [
        "330mm+-4mm",
        " 330 mm ± 4 mm ",
        "330 mm +/- 4 mm",
        "0.33 m +- 4 mm",
        "326 mm .. 334 mm",
        "33e1 mm +- 4 mm",
        "326 mm..334 mm",
    ],
)
def test_the_same_value_may_be_written_in_several_ways(text: str) -> None:
    read = quantity(text, "length")
    assert (read.low, read.nominal, read.high) == pytest.approx((0.326, 0.33, 0.334))


@pytest.mark.parametrize(
    ("text", "dimension", "problem"),
    [
        ("33", "length", "no unit"),
        ("", "length", "not a number with a unit"),
        ("mm", "length", "not a number with a unit"),
        ("13 V", "length", "unit of voltage, not of length"),
        ("13 furlongs", "length", "not a unit of length"),
        ("NaN mm", "length", "not a number with a unit"),
        ("inf mm", "length", "not a number with a unit"),
        ("1e400 mm", "length", "too large a number"),
        ("1 mm +- 1e400 mm", "length", "too large a number"),
        ("4 ms .. 2 ms", "time", "the limits are swapped"),
        ("330 mm +- -4 mm", "length", "a negative tolerance"),
        ("330 mm +- 4", "length", "no unit"),
        ("3,5 mm", "length", "a comma inside a number"),
        ("1 mm .. 2 mm (sd)", "length", "(sd) goes with +-"),
        ("1 mm (sd)", "length", "(sd) without +-"),
        ("1 mm +- 1 mm +- 1 mm", "length", "more than one tolerance"),
        ("1 mm .. 2 mm .. 3 mm", "length", "more than one .."),
        ("1/0 in", "length", "a fraction over zero"),
        ("20 degC +- 5 %", "temperature", "a percentage of a temperature"),
        ("1" * 300 + " mm", "length", "letters long"),
        (" " * 500_000 + "mm", "length", "letters long"),
    ],
)
def test_what_cannot_be_read_is_refused_with_what_would_do(
    text: str, dimension: str, problem: str
) -> None:
    with pytest.raises(QuantityError) as refused:
        quantity(text, dimension)
    assert problem in refused.value.problem
    assert refused.value.allowed
    assert len(str(refused.value)) < 500


def test_a_mistyped_unit_is_answered_with_the_nearest() -> None:
    with pytest.raises(QuantityError, match=r'Did you mean "kohm"\?'):
        quantity("2.4 khom", "resistance")


@given(
    text=st.text(max_size=60) | st.text(alphabet="0123456789.+-±/eE mMinrpVks%()d,", max_size=40),
    dimension=st.sampled_from(list(DIMENSIONS)),
)
def test_any_text_is_a_finite_quantity_or_a_refusal(text: str, dimension: str) -> None:
    try:
        read = quantity(text, dimension)
    except QuantityError:
        return
    assert all(map(math.isfinite, (read.nominal, read.low, read.high)))
    assert read.low <= read.nominal <= read.high


@given(
    middle=st.floats(0.001, 1e4),
    half=st.floats(0, 1e3),
    p=st.floats(0.001, 0.999),
    tail=st.sampled_from(["", " (sd)"]),
)
def test_draws_stay_between_the_limits_and_grow_with_their_probability(
    middle: float, half: float, p: float, tail: str
) -> None:
    read = quantity(f"{middle!r} mm +- {half!r} mm{tail}", "length")
    low, at, high = read.ppf(np.array([p / 2, p, (1 + p) / 2]))
    assert low <= at <= high
    if not tail:
        assert read.low - 1e-12 <= low <= high <= read.high + 1e-12


def test_an_exact_value_has_no_doubt() -> None:
    read = Quantity.exact(0.33, "length")
    assert not read.uncertain
    assert read.sd == 0
    assert read.text == "330 mm"


@given(middle=st.floats(1, 1e3), half=st.floats(0.01, 1), us=st.booleans())
def test_what_is_shown_with_its_limits_reads_back_to_four_digits(
    middle: float, half: float, us: bool
) -> None:
    first = quantity(f"{middle!r} mm +- {half!r} mm", "length")
    again = quantity(first.shown(us=us), "length")
    assert again.nominal == pytest.approx(first.nominal, rel=1e-3)
    assert again.sd == pytest.approx(first.sd, rel=1e-3)
