"""The protection map: what must hold on any machine, and what it refuses."""

from __future__ import annotations

import json

import numpy as np
import pytest

from tests.made_machines import BOTH_OPPOSED, PAWL, lopsided, made, plover, two_assemblies
from tripmargin.machine import Machine
from tripmargin.protection import protection_map
from tripmargin.protection.mapping import default_cuts, longest_protected, smallest_ball

CUTS = np.array([0.004, 0.008, 0.016, 0.035, 0.12])
SIZES = np.geomspace(4e-3, 80e-3, 15)


def doubtful(**detector: str) -> Machine:
    """Soft edges in both regions within CUTS x SIZES."""
    return made(
        sensor=lopsided(),
        feed={"cutterhead_speed": "1000 rpm +- 2 %", "sensor_to_shear_bar": "0.25 m +- 10 mm"},
        detector={"threshold": "0.4 V +- 10 %", "noise": "0.03 V"} | detector,
        chain={"relay_release": "2 ms .. 14 ms"},
    )


def test_the_three_regions_sum_to_one_everywhere() -> None:
    one = protection_map(doubtful(), cut_lengths=CUTS, diameters=SIZES)
    parts = np.stack([one.missed, one.too_late, one.protected])
    assert parts.shape == (3, len(CUTS), len(SIZES))
    assert np.isfinite(parts).all()
    assert ((parts >= 0) & (parts <= 1)).all()
    np.testing.assert_allclose(parts.sum(axis=0), 1.0, rtol=0, atol=1e-9)
    assert (parts.max(axis=(1, 2)) > 0.5).all()  # each region is there


def test_a_larger_ball_is_seen_sooner_and_never_missed_more() -> None:
    one = protection_map(doubtful(), cut_lengths=CUTS, diameters=SIZES)
    assert (np.diff(one.missed, axis=1) <= 1e-12).all()
    assert (np.diff(one.protected, axis=1) >= -1e-9).all()


def test_a_longer_cut_is_seen_better_and_stopped_worse() -> None:
    one = protection_map(doubtful(), cut_lengths=CUTS, diameters=SIZES)
    assert (np.diff(one.missed, axis=0) <= 5e-3).all()  # the filter's low-pass is far above
    seen = 1 - one.missed
    stopped = np.where(seen > 0.05, one.protected / np.maximum(seen, 0.05), np.nan)
    falls = np.diff(stopped[:, -1])
    assert (falls <= 5e-3).all()
    assert stopped[-1, -1] < 0.5 < stopped[0, -1]


@pytest.mark.parametrize(
    ("setting", "less", "more"),
    [
        ("chain.pawls.lower.clearance", 0.0025, 0.009),
        ("chain.supply", 11.0, 16.0),
        ("chain.rest.roll_angle", 0.05, 0.5),
        ("feed.knives", 10, 12),
    ],
)
def test_what_slows_the_stop_or_speeds_the_metal_is_too_late_more_often(
    setting: str, less: float, more: float
) -> None:
    base = doubtful()
    maps = [
        protection_map(base.with_settings({setting: v}), cut_lengths=CUTS, diameters=SIZES)
        for v in (less, more)
    ]
    assert (maps[1].too_late - maps[0].too_late).max() > 0.01
    late = [m.too_late / np.maximum(1 - m.missed, 1e-9) for m in maps]
    seen = (1 - maps[0].missed) > 0.05
    assert (late[1] - late[0])[seen].min() > -0.01


def test_twice_the_threshold_and_noise_moves_the_edge_by_the_cube_root_of_two() -> None:
    fine = np.geomspace(4e-3, 80e-3, 60)
    low, high = (
        protection_map(
            doubtful(threshold=f"{t} V", noise=f"{t / 10} V"), cut_lengths=CUTS, diameters=fine
        )
        for t in (0.3, 0.6)
    )
    assert (low.missed <= high.missed + 1e-12).all()
    # the signal goes with the diameter cubed, so the edge moves by the cube root of two
    c = 1
    edges = [float(np.interp(-0.5, -m.missed[c], np.log(m.diameters))) for m in (low, high)]
    assert np.exp(edges[1] - edges[0]) == pytest.approx(2 ** (1 / 3), rel=0.005)


def test_the_map_is_the_same_whatever_the_order_and_the_company_of_cuts() -> None:
    machine = doubtful()
    alone = protection_map(machine, cut_lengths=[0.016], diameters=SIZES[::-1])
    among = protection_map(machine, cut_lengths=CUTS, diameters=SIZES)
    np.testing.assert_allclose(alone.protected[0], among.protected[2], atol=0.01)
    assert alone.diameters.tolist() == sorted(SIZES.tolist())


def test_a_machine_without_any_doubt_has_hard_edges() -> None:
    exact = made(
        sensor=lopsided(),
        feed={"crop_depth": "30 mm"},
        detector={"noise": "0 V"},
        chain={"pawls": [PAWL | {"ratchet_teeth": 400, "ratchet_turns_per_roll_turn": 100}]},
    )
    one = protection_map(exact, cut_lengths=[0.01, 0.2], diameters=[0.06, 0.08])
    assert one.too_late[0].tolist() == pytest.approx([0, 0], abs=1e-9)
    assert one.protected[1].tolist() == pytest.approx([0, 0], abs=1e-9)


def test_the_smallest_ball_and_the_longest_cut_are_read_where_the_confidence_is_crossed() -> None:
    sizes, p = np.array([1.0, 2.0, 3.0, 4.0]), np.array([0.0, 0.9, 0.999, 1.0])
    # between 2 and 3 the doubt falls from 0.1 to 0.001; it is 0.01 halfway in its logarithm
    assert smallest_ball(sizes, p, 0.99) == pytest.approx(2.5)
    assert smallest_ball(sizes, np.ones(4), 0.99) == 1.0
    assert smallest_ball(sizes, np.array([0.0, 1.0, 1.0, 0.5]), 0.99) is None
    # protected again beyond a gap: the least ball from which on all are
    assert smallest_ball(sizes, np.array([1.0, 0.9, 0.999, 1.0]), 0.99) == pytest.approx(2.5)
    assert longest_protected(sizes, p[::-1], 0.99) == pytest.approx(2.5)
    assert longest_protected(sizes, np.ones(4), 0.99) == 4.0
    assert longest_protected(sizes, np.zeros(4), 0.99) is None


def test_the_default_cuts_hold_those_on_offer() -> None:
    machine = plover(keeper=False)
    cuts = default_cuts(machine)
    assert set(machine.feed.cut_lengths) <= set(cuts.tolist())
    assert (np.diff(cuts) > 0).all()
    assert cuts[0] > 0


@pytest.mark.parametrize("bad", [0.0, -1e-3, np.nan, np.inf])
def test_a_length_that_cannot_be_is_refused_by_its_own_name(bad: float) -> None:
    with pytest.raises(ValueError, match="cut_lengths"):
        protection_map(made(), cut_lengths=[0.01, bad], diameters=[0.02])
    with pytest.raises(ValueError, match="diameters"):
        protection_map(made(), cut_lengths=[0.01], diameters=[0.02, bad])


def test_too_many_cells_are_refused_before_any_work() -> None:
    with pytest.raises(ValueError, match="100000"):
        protection_map(
            made(),
            cut_lengths=np.linspace(1e-3, 0.03, 1001),
            diameters=np.linspace(4e-3, 0.08, 100),
        )
    with pytest.raises(ValueError, match="100000"):
        protection_map(made(), cut_lengths=np.linspace(1e-3, 0.03, 100_001), diameters=[0.01])
    with pytest.raises(ValueError, match="one or more"):
        protection_map(made(), cut_lengths=[], diameters=[0.01])


def test_the_json_form_has_units_and_no_bare_infinity() -> None:
    one = protection_map(made(), cut_lengths=[0.01], diameters=[0.02, 0.04])
    made_ = json.loads(json.dumps(one.to_dict(), allow_nan=False))
    assert made_["cut_lengths_m"] == [0.01]
    assert np.array(made_["protected"]).shape == (1, 2)


def test_progress_runs_from_start_to_end_and_never_back() -> None:
    told: list[float] = []
    protection_map(made(), cut_lengths=[0.01, 0.02], diameters=[0.02], progress=told.append)
    assert told == sorted(told)
    assert 0 < told[0] <= told[-1] == 1.0


def test_both_opposed_has_no_blind_line_and_misses_less_of_large_balls() -> None:
    even, opposed = (
        protection_map(made(sensor=two_assemblies(how)), cut_lengths=[0.014], diameters=[0.06])
        for how in ("magnets the same way up, windings opposed", BOTH_OPPOSED)
    )
    assert even.missed[0, 0] > 0.003 > opposed.missed[0, 0]
