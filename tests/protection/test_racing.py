"""The race: margins, chances and what-ifs that must hold for any machine."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.made_machines import made, plover
from tripmargin.ground.errors import MachineFileError, NotKnownError
from tripmargin.machine import load_machine
from tripmargin.protection import race
from tripmargin.sensing import Piece, simulate_pass
from tripmargin.stopping import travel_chances

BALL = Piece.ball(0.02)


def test_the_margin_is_the_bar_less_the_crossing_less_the_travel() -> None:
    machine = plover(keeper=False)
    one = race(machine, cut_length=0.01, piece=BALL, x=0.15, height=0.03)
    seen = simulate_pass(machine, BALL, x=0.15, height=0.03, speed=one.metal_speed)
    assert one.crossing_y == seen.crossing_y
    assert one.margin == pytest.approx(0.33 - seen.crossing_y - one.travel, abs=1e-12)
    assert one.margin.low < one.margin < one.margin.high
    assert one.position[0] == one.crossing_y
    assert one.position[-1] == pytest.approx(one.crossing_y + one.travel, abs=1e-9)


def test_a_piece_that_is_not_caught_has_no_margin_and_goes_through() -> None:
    one = race(made(), cut_length=0.006, piece=Piece.ball(0.003), x=0.15, height=0.07)
    assert (one.margin, one.crossing_y) == (None, None)
    assert one.probability_through == pytest.approx(1.0, abs=1e-6)
    assert one.probability_missed == pytest.approx(1.0, abs=1e-6)


def test_a_race_with_a_sure_piece_is_the_race_from_its_crossing() -> None:
    cut = 0.04
    base = made(feed={"cutterhead_speed": "1000 rpm +- 3 %"}, detector={"noise": "0 V"})
    far = race(base, cut_length=cut, piece=Piece.ball(0.03), x=0.15, height=0.04)
    close = f"{0.33 - far.margin:.6f} m +- 5 mm"  # as often too late as not
    machine = base.with_settings({"feed.sensor_to_shear_bar": close})
    big = race(machine, cut_length=cut, piece=Piece.ball(0.03), x=0.15, height=0.04)
    alone = float(travel_chances(machine, cut).late(big.crossing_y))
    # the piece's crossing drifts with the speed: a part in a hundred of the travel's own spread
    assert 0.3 < alone < 0.7
    assert big.probability_through == pytest.approx(alone, abs=0.02)
    assert big.probability_missed == 0.0


@settings(max_examples=15)
@given(st.floats(2.5e-3, 6e-3), st.floats(0.1e-3, 4e-3), st.floats(5e-3, 30e-3), st.booleans())
def test_more_clearance_is_less_margin(gap: float, more: float, cut: float, piece: bool) -> None:
    machine = made()
    how = {"piece": Piece.ball(0.03), "x": 0.15, "height": 0.03} if piece else {}
    less, wide = (
        race(machine, cut_length=cut, clearance=c, **how).margin for c in (gap, gap + more)
    )
    assert wide < less


@pytest.mark.parametrize(
    ("setting", "values"),
    [
        ("decision_delay", (1e-3, 5e-3)),
        ("relay_release", (1e-3, 20e-3)),
        ("supply", (11.0, 15.0)),
        ("roll_angle", (0.02, 0.2)),
        ("threshold", (0.8, 3.0)),
        ("inductance", (0.1, 0.3)),
    ],
)
def test_what_makes_the_stop_later_takes_margin(setting: str, values: tuple[float, float]) -> None:
    one, other = (
        race(made(), cut_length=0.012, piece=BALL, x=0.15, height=0.03, **{setting: v}).margin
        for v in values
    )
    assert other < one


def test_a_zener_gives_margin_over_a_diode_and_nothing_gives_most() -> None:
    margins = [
        race(made(), cut_length=0.012, suppression=s).margin
        for s in (
            {"kind": "diode", "voltage": 0.8},
            {"kind": "resistor", "resistance": 82.0},
            {"kind": "zener", "voltage": 24.0},
            {"kind": "none"},
        )
    ]
    assert margins[0] < margins[1] < margins[3]
    assert margins[0] < margins[2] < margins[3]


def test_a_chance_is_a_chance_at_any_cut_and_rises_with_it() -> None:
    machine = plover(keeper=False)
    found = [race(machine, cut_length=c).probability_through for c in np.linspace(0.03, 0.09, 13)]
    assert np.isfinite(found).all()
    assert ((np.array(found) >= 0) & (np.array(found) <= 1)).all()
    assert (np.diff(found) >= -1e-9).all()
    assert found[0] < 1e-3 < 0.99 < found[-1]


@pytest.mark.parametrize("cut", [0.0, -0.01, float("nan"), float("inf")])
def test_a_cut_that_cannot_be_is_refused(cut: float) -> None:
    with pytest.raises(ValueError, match="cut length"):
        race(made(), cut_length=cut)


@pytest.mark.parametrize(
    ("settings_", "says"),
    [
        ({"clearence": 0.003}, "clearance"),
        ({"clearance": {"uper": 0.003}}, "lower"),
        ({"supply": -3.0}, "too small"),
        ({"supply": float("nan")}, "finite"),
    ],
)
def test_a_setting_that_cannot_be_is_refused_and_the_nearest_named(
    settings_: dict[str, object], says: str
) -> None:
    with pytest.raises(MachineFileError, match=says):
        race(made(), cut_length=0.01, **settings_)


@pytest.mark.parametrize(("x", "height"), [(float("nan"), 0.03), (0.1, -0.01), (0.1, float("inf"))])
def test_a_place_that_cannot_be_is_refused(x: float, height: float) -> None:
    with pytest.raises(ValueError):
        race(made(), cut_length=0.01, piece=BALL, x=x, height=height)


def test_what_is_missing_is_named_all_at_once() -> None:
    machine = made(feed={"sensor_to_shear_bar": None})
    with pytest.raises(NotKnownError) as caught:
        race(machine, cut_length=0.01)
    assert caught.value.needs == ("feed.sensor_to_shear_bar",)
    with pytest.raises(NotKnownError, match="chain"):
        race(made(without=("chain",)), cut_length=0.01)


def test_a_piece_larger_than_the_gap_is_marked() -> None:
    one = race(made(), cut_length=0.01, piece=Piece.ball(0.1), x=0.15, height=0.05)
    assert any("cannot pass" in note for note in one.notes)


def test_a_plunger_that_sticks_goes_through_and_stays_plain_json() -> None:
    parts = {
        "mass": "0.2 kg",
        "travel": "8 mm",
        "spring_force": "2 N",
        "spring_rate": "10 N/m",
        "friction": "3 N",
        "magnet_gap": "0.45 mm",
    }
    one = race(made(chain={"plunger": {"parts": parts}}), cut_length=0.01)
    assert one.probability_through == 1.0
    json.dumps(one.to_dict(), allow_nan=False)


def test_a_plunger_that_sometimes_sticks_goes_through_at_least_as_often() -> None:
    # spring 2 to 6 N against friction 2 to 4 N: it sticks in a quarter of all cases
    parts = {
        "mass": "0.2 kg",
        "travel": "8 mm",
        "spring_force": "4 N +- 2 N",
        "spring_rate": "0 N/m",
        "friction": "3 N +- 1 N",
        "magnet_gap": "0.45 mm",
    }
    one = race(made(chain={"plunger": {"parts": parts}}), cut_length=0.006)
    assert 0.25 - 1e-3 <= one.probability_through < 0.30
    json.dumps(one.to_dict(), allow_nan=False)


def test_what_is_seen_by_its_currents_is_seen_by_the_race_too() -> None:
    machine = made(detector={"threshold": "0.4 V"})
    ball = Piece.ball(0.06, "aluminium")
    one = race(machine, cut_length=0.015, piece=ball, x=0.15, height=0.03)
    seen = simulate_pass(machine, ball, x=0.15, height=0.03, speed=one.metal_speed)
    assert seen.caught
    assert one.probability_missed == pytest.approx(1 - seen.probability, abs=1e-3)
    assert one.crossing_y == seen.crossing_y


def test_where_the_windings_cancel_a_piece_is_surely_not_caught() -> None:
    """Like its neighbour a millimetre aside, whose signal is only nearly nothing."""
    dunlin = load_machine("dunlin")
    null, beside = (race(dunlin, cut_length=0.019, piece=BALL, x=x) for x in (0.0, 0.001))
    assert null.margin is None
    assert null.probability_missed == pytest.approx(1.0, abs=1e-12)
    assert null.probability_through == pytest.approx(beside.probability_through, abs=1e-4)
