"""Ranges of a meter's reading: every reading in its own, with room to the next."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tripmargin.faultfinding.suspects.bands import (
    LEAST_APART,
    MOST,
    OHMS_APART,
    VOLTS_APART,
    ohm_bands,
    ohms,
    volt_bands,
)

volts = st.lists(st.floats(-15.0, 15.0), min_size=1, max_size=40)
resistances = st.lists(
    st.one_of(st.floats(0.0, 2e7), st.floats(0.01, 100.0), st.just(math.inf)),
    min_size=1,
    max_size=40,
)
ROUNDED = 0.051  # V: limits are rounded to a tenth


@given(volts)
def test_every_reading_has_room_to_the_limits_around_it(readings):
    bands = volt_bands(readings)
    for reading in readings:
        for limit in bands.limits:
            assert abs(reading - limit) > LEAST_APART / 2 - ROUNDED


@given(volts)
def test_readings_on_two_sides_of_a_limit_differ_by_more_than_batteries_do(readings):
    for limit in volt_bands(readings).limits:
        below = max(each for each in readings if each < limit)
        above = min(each for each in readings if each > limit)
        least = min(VOLTS_APART, VOLTS_APART * max(abs(below), abs(above)) / 12.0)
        assert above - below >= max(LEAST_APART, least) - 1e-9


@given(resistances)
def test_every_resistance_is_a_factor_away_from_the_limits_around_it(readings):
    bands = ohm_bands(readings)
    for reading in readings:
        shown = min(max(reading, 0.05), 20e6)
        for limit in bands.limits:
            assert abs(math.log10(shown / limit)) > OHMS_APART / 2 - 0.023  # limits: two figures


@pytest.mark.parametrize("made", [volt_bands, ohm_bands])
@given(readings=st.lists(st.floats(0.0, 15.0), min_size=1, max_size=60))
def test_ranges_rise_and_are_few_and_each_has_a_word_of_its_own(made, readings):
    bands = made(readings)
    assert list(bands.limits) == sorted(set(bands.limits))
    assert len(bands.words) == len(bands.limits) + 1 == len(set(bands.words))
    assert len(bands.words) <= MOST
    words = [bands.word(each) for each in sorted(readings)]
    numbers = [bands.words.index(word) for word in words]
    assert numbers == sorted(numbers)


def test_readings_that_only_the_battery_tells_apart_make_one_range():
    assert volt_bands([12.1, 12.4, 12.6, 13.1]).words == ("any",)
    assert ohm_bands([18.0, 20.0, 24.0]).words == ("any",)


def test_low_readings_follow_the_battery_and_may_lie_closer_together():
    # 1.6 V of a 12.6 V battery is 1.4 V of an 11.4 V one: still far from nothing at all
    bands = volt_bands([0.0, 1.4, 1.6, 12.6])
    assert bands.word(0.1) == "less than 0.7 V"
    assert bands.word(1.4) == bands.word(1.6) == "0.7 V to 7.1 V"
    assert volt_bands([0.0, 0.2]).words == ("any",)


def test_the_widest_gaps_count_where_there_are_too_many():
    bands = volt_bands([0.0, 1.0, 4.0, 8.0, 12.0, 12.9])
    assert bands.limits == (2.5, 6.0, 10.0)


def test_an_endless_resistance_is_in_the_range_that_names_overload():
    bands = ohm_bands([0.02, 2700.0, math.inf])
    assert len(bands.words) == 3
    assert bands.word(math.inf).endswith("or overload")
    assert bands.word(2700.0).endswith("kohm")
    assert bands.word(0.0) == bands.words[0]


def test_a_reversed_probe_reads_below_nothing():
    bands = volt_bands([-12.3, 0.0, 12.3])
    assert [bands.word(each) for each in (-12.3, 0.0, 12.3)] == list(bands.words)


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.05, "0.05 ohm"), (999.0, "999 ohm"), (1000.0, "1 kohm"), (2.5e6, "2.5 Mohm")],
)
def test_ohms_are_written_as_people_write_them(value, text):
    assert ohms(value) == text


def test_a_room_is_never_narrower_than_a_hand_held_meter_can_tell():
    # a meter of 0.5 % and two digits of 0.01 V is good to 0.08 V at 12 V; common practice, no
    # source
    assert LEAST_APART / 2 > 0.08
    assert np.isclose(10**OHMS_APART, 1.5, rtol=0.02)
