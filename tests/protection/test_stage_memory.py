"""Stages remembered from one setting to the next, against stages followed afresh."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.made_machines import made
from tripmargin.ground.errors import NotKnownError
from tripmargin.machine import load_machine
from tripmargin.protection.live import OFF
from tripmargin.protection.stage_memory import StageMemory
from tripmargin.protection.stops import LATE_PLACES, Stops
from tripmargin.stopping import StopDensities, plunger

NEAR = {"feed.sensor_to_shear_bar": "120 mm +- 4 mm"}  # late at some cuts only
ZENER = {"kind": "zener", "voltage": "24 V +- 1 V"}
SETTINGS: list[dict[str, Any]] = [
    {},
    {"clearance": 0.0041},
    {"supply": "11 V +- 0.5 V"},
    {"chain.hold_winding.suppression": ZENER, "clearance": "6 mm +- 1 mm"},
    {"chain.hold_winding.suppression": {"kind": "none"}},
    {"decision_delay": 0.006, "chain.rest.roll_angle": "0.2 rad +- 0.1 rad"},
]


@pytest.mark.parametrize("name", ["whimbrel", "curlew"])  # measured stages, and stages by parts
def test_whole_stages_are_those_followed_afresh(name: str) -> None:
    machine = load_machine(name)
    memory = StageMemory(machine)
    for settings in [*SETTINGS[:4], {}]:
        turned = machine.with_settings(settings) if settings else machine
        one, other = memory.stops(turned, whole=True).densities, StopDensities.of(turned)
        assert (one.machine, one.step) == (other.machine, other.step)
        for mine, theirs in zip(
            (one.before, *one.swings), (other.before, *other.swings), strict=True
        ):
            assert (mine.start, mine.step, mine.never) == (theirs.start, theirs.step, theirs.never)
            np.testing.assert_array_equal(mine.mass, theirs.mass)
        assert one.rest[0].keys() == other.rest[0].keys()
        np.testing.assert_array_equal(one.rest[1], other.rest[1])


@pytest.mark.parametrize("name", ["whimbrel", "curlew"])
def test_few_draws_move_no_chance_by_more_than_half_of_what_is_promised(name: str) -> None:
    machine = load_machine(name).with_settings(NEAR)
    memory = StageMemory(machine)
    seen = []
    for settings in SETTINGS:
        turned = machine.with_settings(settings) if settings else machine
        quick, full = memory.stops(turned), Stops(turned)
        for cut in machine.feed.cut_lengths:
            mine, theirs = (
                one.travel(cut, fine=False).late(LATE_PLACES, fine=False) for one in (quick, full)
            )
            np.testing.assert_allclose(mine, theirs, rtol=0, atol=OFF / 2)
            seen.append(theirs)
    assert 0.05 < np.median(np.concatenate(seen)) <= 1.0


def test_the_machine_s_own_stages_are_followed_whole() -> None:
    machine = load_machine("whimbrel")
    own, afresh = StageMemory(machine).stops(machine).densities, StopDensities.of(machine)
    np.testing.assert_array_equal(own.before.mass, afresh.before.mass)


def test_another_suppression_leaves_the_pawls_swings_whole() -> None:
    # They owe it nothing: with few draws they would be off for nothing.
    machine = load_machine("whimbrel")
    turned = machine.with_settings({"chain.hold_winding.suppression": ZENER})
    quick, full = StageMemory(machine).stops(turned).densities, StopDensities.of(turned)
    for mine, theirs in zip(quick.swings, full.swings, strict=True):
        # The steps differ a little with the release's limits: the means may by a part of one.
        assert mine.mean == pytest.approx(theirs.mean, abs=quick.step / 100)
        assert mine.sd == pytest.approx(theirs.sd, rel=1e-3)


def test_a_gap_that_is_turned_has_no_plunger_flown_again(monkeypatch: pytest.MonkeyPatch) -> None:
    # Curlew's plunger is given by parts: a flight takes longer than all the rest of a step.
    machine, flown = load_machine("curlew"), []
    fly = plunger.plunger_fall
    monkeypatch.setattr(plunger, "plunger_fall", lambda *a, **k: flown.append(1) or fly(*a, **k))
    memory = StageMemory(machine)

    def turn(**settings: Any) -> int:
        flown.clear()
        turned = machine.with_settings(settings) if settings else machine
        memory.stops(turned).chain(0.0123)
        return len(flown)

    turn()
    assert turn(clearance=0.00413) == turn(clearance=0.00617) == 0
    assert turn(supply=12.34) > 0


def test_what_the_stop_lacks_is_named() -> None:
    machine = made(without=("chain",))
    with pytest.raises(NotKnownError, match="chain"):
        StageMemory(machine).stops(machine)
