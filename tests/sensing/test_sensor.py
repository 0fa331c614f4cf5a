"""The sensor's fields: turning, adding up, refusing."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.made_machines import BOTH_OPPOSED, lopsided, made, plover, two_assemblies
from tripmargin.ground.errors import NotKnownError
from tripmargin.sensing import sensor_fields

POINTS = np.random.default_rng(4).uniform([-0.3, -0.2, 0.1], [0.3, 0.2, 0.25], (40, 3))
anywhere = st.tuples(st.floats(-0.4, 0.4), st.floats(-0.4, 0.4), st.floats(0.1, 0.4))


def about_x(vectors: np.ndarray, angle: float) -> np.ndarray:
    """Right-handed about +x: y goes to z at a right angle."""
    c, s = np.cos(angle), np.sin(angle)
    return vectors @ np.array([[1, 0, 0], [0, c, s], [0, -s, c]])


def test_fields_keep_the_shape_of_the_points() -> None:
    for shape in ((3,), (40, 3), (5, 8, 3), (0, 3)):
        at = POINTS.ravel()[: int(np.prod(shape))].reshape(shape)
        b0, b = sensor_fields(made(), at)
        assert b0.shape == b.shape == shape


def test_points_without_three_coordinates_are_refused() -> None:
    with pytest.raises(ValueError, match="metres"):
        sensor_fields(made(), [[0.1, 0.2]])


def test_a_machine_without_a_sensor_says_what_is_missing() -> None:
    with pytest.raises(NotKnownError) as caught:
        sensor_fields(made(without=("sensor",)), POINTS)
    assert caught.value.needs == ("sensor",)
    only_magnet = {
        "assemblies": [{k: v for k, v in lopsided()["assemblies"][0].items() if k != "coil"}]
    }
    with pytest.raises(NotKnownError, match=r"sensor\.assemblies\.coil"):
        sensor_fields(made(sensor=only_magnet), POINTS)


def test_assemblies_add_up() -> None:
    sensor = two_assemblies(BOTH_OPPOSED)
    whole = sensor_fields(made(sensor=sensor), POINTS)
    parts = [
        sensor_fields(made(sensor={"assemblies": [one]}), POINTS) for one in sensor["assemblies"]
    ]
    for k in range(2):
        np.testing.assert_allclose(whole[k], parts[0][k] + parts[1][k], atol=1e-15)


@given(anywhere)
def test_the_even_sensor_is_odd_across_the_roll_in_its_windings(at: tuple[float, ...]) -> None:
    # the reference's property: magnets the same way up, windings opposed
    mirrored = np.array(at) * [-1, 1, 1]
    (b0, b), (b0_there, b_there) = (sensor_fields(made(), p) for p in (at, mirrored))
    sign = np.array([-1, 1, 1])
    np.testing.assert_allclose(b0_there, sign * b0, atol=1e-12)
    np.testing.assert_allclose(b_there, -sign * b, atol=1e-12)


@pytest.mark.parametrize("degrees", [-40.0, 3.0, 90.0, 180.0])
@pytest.mark.parametrize("keeper", [False, True])
def test_a_turned_sensor_is_the_sensor_seen_from_the_turned_back_place(
    degrees: float, keeper: bool
) -> None:
    angle = np.radians(degrees)
    machine = plover(keeper=keeper).with_settings({"sensor.rotation": 0.0})
    turned = machine.with_settings({"sensor.rotation": angle})
    at = POINTS + np.array([0, 0, 0.05])
    there = sensor_fields(turned, about_x(at, angle))
    here = sensor_fields(machine, at)
    for one, other in zip(there, here, strict=True):
        np.testing.assert_allclose(one, about_x(other, angle), atol=1e-12)


def test_turning_is_right_handed_about_the_roll() -> None:
    # y (with the crop) goes up: a sensor turned by +90 degrees faces -y
    assert about_x(np.array([0, 1.0, 0]), np.pi / 2) == pytest.approx([0, 0, 1])
    assert about_x(np.array([0, 0, 1.0]), np.pi / 2) == pytest.approx([0, -1, 0])
    machine = made().with_settings({"sensor.rotation": np.pi / 2})
    fore, aft = (sensor_fields(machine, [0.15, y, 0.0])[0] for y in (-0.15, 0.15))
    assert np.linalg.norm(fore) > 5 * np.linalg.norm(aft)


def test_a_keeper_without_permeability_is_none() -> None:
    sensor = two_assemblies() | {
        "keeper": {
            "centre": [0, 0, 0.03],
            "size": [0.5, 0.06, 0.005],
            "relative_permeability": 1.0,
        }
    }
    for one, other in zip(
        sensor_fields(made(sensor=sensor), POINTS), sensor_fields(made(), POINTS), strict=True
    ):
        np.testing.assert_array_equal(one, other)


def test_a_magnet_s_direction_counts_as_a_direction_only() -> None:
    long, unit = lopsided(), lopsided()
    long["assemblies"][0]["magnet"]["direction"] = [0.0, 3.5, 10.0]
    for one, other in zip(
        sensor_fields(made(sensor=long), POINTS),
        sensor_fields(made(sensor=unit), POINTS),
        strict=True,
    ):
        np.testing.assert_allclose(one, other, rtol=1e-12)
