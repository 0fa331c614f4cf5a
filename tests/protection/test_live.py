"""Turning settings: the quick map, race and verdict against the whole computation."""

from __future__ import annotations

import json
from threading import Barrier, Thread
from typing import Any

import numpy as np
import pytest

from tests.made_machines import PAWL, lopsided, made
from tripmargin.ground.errors import MachineFileError
from tripmargin.machine import Machine, demo_machines, load_machine
from tripmargin.protection import (
    CutVerdict,
    LiveProtection,
    Race,
    Turned,
    live_protection,
    protection_map,
    prove,
    race,
)
from tripmargin.protection import live as live_module
from tripmargin.protection.live import OFF
from tripmargin.sensing import Piece
from tripmargin.sensing.sensor import SensorSources

CUTS = np.array([0.004, 0.008, 0.016, 0.035, 0.12])
SIZES = np.geomspace(4e-3, 80e-3, 15)
BALL = Piece.ball(0.03)
NEAR = {"feed.sensor_to_shear_bar": "100 mm +- 4 mm"}  # late at some cuts only


def doubtful(**changes: dict[str, Any]) -> Machine:
    """Soft edges in every region within CUTS x SIZES, and two pawls to set."""
    chain = {
        "relay_release": "2 ms .. 14 ms",
        "supply": "13.2 V +- 0.5 V",
        "pawls": [PAWL, PAWL | {"name": "upper", "clearance": "4 mm +- 0.4 mm"}],
    }
    return made(
        sensor=lopsided(),
        feed={"cutterhead_speed": "1000 rpm +- 2 %", "sensor_to_shear_bar": "0.25 m +- 10 mm"}
        | changes.get("feed", {}),
        detector={"threshold": "0.4 V +- 10 %", "noise": "0.03 V"} | changes.get("detector", {}),
        chain=chain | changes.get("chain", {}),
        limits=changes.get("limits"),
    )


def chances(turned: Turned) -> np.ndarray:
    one = turned.protection_map
    assert one is not None
    return np.stack([one.missed, one.too_late, one.protected])


def agrees(turned: Turned, piece: Piece | None = None, *, atol: float) -> None:
    """The map and the race within `atol` of the whole computation; lengths and times exactly."""
    machine, cut, grid = turned.machine, turned.cut_length, turned.protection_map
    assert grid is not None
    full = protection_map(machine, cut_lengths=grid.cut_lengths, diameters=grid.diameters)
    np.testing.assert_allclose(
        chances(turned), np.stack([full.missed, full.too_late, full.protected]), rtol=0, atol=atol
    )
    mine, theirs = grid.to_dict(), full.to_dict()
    for key in ("cuts_on_offer_m", "must_stop", "confidence", "assumed", "machine"):
        assert mine[key] == theirs[key]
    raced(turned.race, race(machine, cut_length=cut, piece=piece), atol)


def raced(mine: Race | None, theirs: Race, atol: float) -> None:
    assert mine is not None
    for key in ("probability_through", "probability_missed"):
        assert getattr(mine, key) == pytest.approx(getattr(theirs, key), rel=1e-9, abs=atol)
    one, other = mine.to_dict(), theirs.to_dict()
    for each in (one, other):
        del each["probability_through"], each["probability_missed"]
        if each["margin_m"] is not None:
            sd = each["margin_m"].pop("sd")
            assert sd is None or sd > 0
    assert one == other


def judged(mine: CutVerdict | None, theirs: CutVerdict, atol: float) -> None:
    assert mine is not None
    for key in ("seen", "protected", "too_late"):
        assert getattr(mine, key) == pytest.approx(getattr(theirs, key), rel=1e-9, abs=atol)
    for key in ("cut_length", "piece", "stop_time", "travel", "margin", "crossing_y"):
        assert getattr(mine, key) == getattr(theirs, key)


DEMO_SETTINGS: list[dict[str, Any]] = [
    {"supply": 11.5, "chain.hold_winding.suppression": {"kind": "zener", "voltage": 24.0}},
    {"clearance": 0.012} | NEAR,  # far beyond the window
]


@pytest.mark.parametrize("name", demo_machines())
def test_a_demo_machine_turned_is_that_machine_computed(name: str) -> None:
    machine = load_machine(name)
    first, *rest = (pawl.name for pawl in machine.chain.pawls)
    apart = {f"chain.pawls.{first}.clearance": 0.0028}  # the pawls set differently
    apart |= {f"chain.pawls.{pawl}.clearance": "6.5 mm +- 0.5 mm" for pawl in rest}
    cut = machine.feed.cut_lengths[-1]
    live = LiveProtection(machine)
    lates = []
    for settings in (*DEMO_SETTINGS, apart | NEAR | {"chain.rest.roll_angle": 0.8}):
        turned = live.at(cut_length=cut, **settings)
        agrees(turned, atol=OFF)
        lates.append(chances(turned)[1])
        assert turned.quick
        assert turned.machine == machine.with_settings(settings)
    assert np.max(lates) > 0.02  # there was lateness to be wrong about
    turned = live.at(cut_length=cut, whole=True, **DEMO_SETTINGS[0])
    assert turned.quick == ""
    agrees(turned, atol=1e-12)
    proof = prove(turned.machine, cut_lengths=[cut])
    assert turned.verdict == proof.cuts[0]
    quick = live.at(cut_length=cut, **DEMO_SETTINGS[0])
    judged(quick.verdict, proof.cuts[0], OFF)
    assert quick.protection_map.longest_protected_cut == pytest.approx(
        proof.protection_map.longest_protected_cut, abs=1e-4
    )


@pytest.mark.parametrize(
    ("settings", "piece"),
    [
        ({"chain.pawls.upper.clearance": 0.009, "chain.pawls.lower.clearance": 0.002}, BALL),
        ({"chain.hold_winding.suppression": {"kind": "resistor", "resistance": 100.0}}, None),
        ({"chain.rest.roll_angle": "0.4 rad +- 0.1 rad", "supply": 16.0}, BALL),
        ({"detector.decision_delay": 0.02, "limits.confidence": 0.9}, None),
        ({"limits.must_stop": "40 mm ball"}, None),
    ],
)
def test_what_the_sensor_does_not_know_is_turned_on_the_kept_sights(
    soft: LiveProtection,
    monkeypatch: pytest.MonkeyPatch,
    settings: dict[str, Any],
    piece: Piece | None,
) -> None:
    cut = 0.016
    soft.at(cut_length=cut, piece=piece)
    built = counted(monkeypatch)
    turned = soft.at(cut_length=cut, piece=piece, **settings)
    assert built == []
    agrees(turned, piece, atol=0.002)
    whole = soft.at(cut_length=cut, piece=piece, whole=True, **settings)
    agrees(whole, piece, atol=1e-12)
    judged(turned.verdict, whole.verdict, 0.002)


@pytest.fixture(scope="module")
def soft() -> LiveProtection:
    return LiveProtection(doubtful(), cut_lengths=CUTS, diameters=SIZES)


def counted(monkeypatch: pytest.MonkeyPatch) -> list[Machine]:
    """Machines whose sights are looked up from now on."""
    built: list[Machine] = []
    plain = live_module.Sights

    def sights(machine: Machine, *arguments: Any, **named: Any) -> Any:
        built.append(machine)
        return plain(machine, *arguments, **named)

    monkeypatch.setattr(live_module, "Sights", sights)
    return built


@pytest.mark.parametrize(
    "settings",
    [
        {"detector.threshold": 0.6},
        {"sensor.rotation": "25 deg +- 2 deg"},
        {"feed.crop_depth": "5 mm .. 40 mm"},
        {"feed.cutterhead_speed": "1300 rpm +- 5 %"},
        {"feed.knives": 7},
    ],
)
def test_what_the_sensor_knows_is_looked_up_anew(
    soft: LiveProtection, monkeypatch: pytest.MonkeyPatch, settings: dict[str, Any]
) -> None:
    before = chances(soft.at(cut_length=0.016))
    built = counted(monkeypatch)
    turned = soft.at(cut_length=0.016, clearance=0.005, **settings)
    assert len(built) == 1
    assert np.abs(chances(turned) - before).max() > 0.02
    agrees(turned, atol=0.002)


def test_only_fields_that_no_sensor_knows_leave_the_sights_as_they_are() -> None:
    machine = load_machine("whimbrel")
    kept, anew = [], []
    for path, q in machine.quantities():
        if path.startswith(("circuit", "checks")):
            continue
        low, middle, high = ((0.99 * v) for v in (q.low, q.nominal, q.high))
        moved = type(q)(middle, low, high, q.shape, q.dimension)
        try:
            turned = machine.with_settings({path: moved})
        except MachineFileError:  # a whole number of knives, a part that no longer fits
            continue
        same = live_module.sensed(turned, machine.limits) == live_module.sensed(
            machine, machine.limits
        )
        (kept if same else anew).append(path)
    stop = ("chain.", "limits.", "feed.sensor_to_shear_bar", "detector.decision_delay")
    assert all(path.startswith((*stop, "detector.supply_minimum")) for path in kept)
    assert len(kept) > 15
    assert len(anew) > 15
    assert all(path.startswith(("sensor.", "detector.", "feed.")) for path in anew)


def test_a_cut_beyond_the_map_is_looked_up_for_itself(soft: LiveProtection) -> None:
    turned = soft.at(cut_length=0.15, whole=True)
    assert turned.protection_map.cut_lengths.tolist() == CUTS.tolist()
    proof = prove(doubtful(), cut_lengths=[0.004, 0.15])
    assert turned.verdict.protected == pytest.approx(proof.cuts[1].protected, abs=0.01)


@pytest.mark.parametrize(
    "chain",
    [
        # a spring of 2 to 6 N against a friction of 2 to 4 N: it sticks in a quarter of all cases
        {"spring_force": "4 N +- 2 N", "friction": "3 N +- 1 N"},
        {"spring_force": "2 N", "friction": "3 N"},  # it always sticks
        None,
    ],
)
def test_a_plunger_that_sticks_is_late_in_the_quick_map_too(chain: dict[str, str] | None) -> None:
    parts = {"mass": "0.2 kg", "travel": "8 mm", "spring_rate": "0 N/m", "magnet_gap": "0.45 mm"}
    machine = doubtful(chain={"plunger": {"parts": parts | chain}} if chain else {})
    live = LiveProtection(machine, cut_lengths=CUTS, diameters=SIZES)
    turned = live.at(cut_length=0.008, clearance=0.004)
    agrees(turned, atol=OFF)
    json.dumps(turned.to_dict(), allow_nan=False)


def test_a_machine_without_any_doubt_has_hard_edges_in_the_quick_map_too() -> None:
    exact = made(
        sensor=lopsided(),
        feed={"crop_depth": "30 mm"},
        detector={"noise": "0 V"},
        chain={"pawls": [PAWL | {"ratchet_teeth": 400, "ratchet_turns_per_roll_turn": 100}]},
    )
    live = LiveProtection(exact, cut_lengths=[0.01, 0.05, 0.2], diameters=[0.06, 0.08])
    agrees(live.at(cut_length=0.05), atol=OFF)
    agrees(live.at(cut_length=0.05, clearance=0.008, whole=True), atol=1e-12)


@pytest.mark.parametrize(
    ("machine", "needs"),
    [
        (made(without=("sensor",)), ("sensor",)),
        (made(detector={"gain": None}), ("detector.gain",)),
        (made(without=("detector",)), ("detector.gain", "detector.threshold")),
        (made(without=("chain",)), ("chain",)),
        (made(feed={"cutterhead_speed": None}), ("feed.cutterhead_speed",)),
    ],
)
@pytest.mark.parametrize("piece", [None, BALL])
def test_what_is_not_known_is_said_as_a_proof_says_it(
    machine: Machine, needs: tuple[str, ...], piece: Piece | None
) -> None:
    turned = LiveProtection(machine).at(
        cut_length=0.012, piece=piece, whole=True, **{"limits.confidence": 0.95}
    )
    proof = prove(turned.machine, cut_lengths=[0.012], pieces=None if piece is None else [piece])
    assert proof.verdict == "not known"
    assert turned.protection_map is None
    assert turned.needs == proof.needs == needs
    assert (turned.verdict,) == (proof.cuts or (None,))
    if proof.cuts:
        raced(turned.race, race(turned.machine, cut_length=0.012), 1e-12)
    else:
        assert (turned.race, turned.margin) == (None, None)
    json.dumps(turned.to_dict(), allow_nan=False)


def test_a_missing_part_that_a_setting_gives_is_known_from_then_on() -> None:
    machine = made(sensor=lopsided(), detector={"gain": None})
    live = LiveProtection(machine, cut_lengths=[0.01, 0.02], diameters=SIZES)
    assert live.at(cut_length=0.01).protection_map is None
    assert live.at(cut_length=0.01, **{"detector.gain": 900}).needs == ()
    assert live.at(cut_length=0.01).needs == ("detector.gain",)


def test_without_cuts_on_offer_the_map_has_the_cut_asked_about() -> None:
    live = LiveProtection(doubtful(feed={"cut_lengths": None}), diameters=SIZES)
    turned = live.at(cut_length=0.012, whole=True)
    agrees(turned, atol=1e-12)
    assert turned.verdict == prove(turned.machine, cut_lengths=[0.012]).cuts[0]


def test_a_detector_that_trips_by_itself_is_not_known(soft: LiveProtection) -> None:
    turned = soft.at(cut_length=0.016, **{"detector.noise": 0.2})
    assert turned.verdict.verdict == "not known"


def test_what_cannot_be_is_refused(soft: LiveProtection) -> None:
    with pytest.raises(MachineFileError, match="clearance"):
        soft.at(cut_length=0.016, clearence=0.004)
    with pytest.raises(MachineFileError, match="supply"):
        soft.at(cut_length=0.016, supply=-3.0)
    with pytest.raises(ValueError, match="cut length"):
        soft.at(cut_length=float("nan"))
    with pytest.raises(ValueError, match="height"):
        soft.at(cut_length=0.016, piece=BALL, height=-0.1)
    with pytest.raises(ValueError, match="4000"):
        LiveProtection(made(), cut_lengths=np.linspace(0.004, 0.03, 101))
    with pytest.raises(ValueError, match="cut_lengths"):
        LiveProtection(made(), cut_lengths=[0.0])


def test_threads_that_turn_at_once_get_what_each_asked_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    machine = doubtful()
    alone = LiveProtection(machine, cut_lengths=CUTS, diameters=SIZES)
    asked: list[dict[str, Any]] = [
        {"cut_length": cut, "clearance": gap, "piece": piece}
        for cut in (0.008, 0.016)
        for gap in (0.003, 0.006)
        for piece in (None, BALL)
    ]
    expected = [alone.at(**one).to_dict() for one in asked]
    built = counted(monkeypatch)
    together = LiveProtection(machine, cut_lengths=CUTS, diameters=SIZES)
    start, found = Barrier(len(asked)), [dict[str, Any]() for _ in asked]

    def turn(k: int) -> None:
        start.wait()
        found[k] = together.at(**asked[k]).to_dict()

    threads = [Thread(target=turn, args=(k,)) for k in range(len(asked))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found == expected
    assert len(built) == 1


def test_the_last_machines_are_remembered() -> None:
    one, other = made(), made(feed={"slip": "1 %"})
    assert live_protection(one) is live_protection(made())
    assert live_protection(one) is not live_protection(other)


def test_another_cut_needs_no_field_again(monkeypatch: pytest.MonkeyPatch) -> None:
    # Fields know no speed: a cut that is turned moves the passes over them alone.
    live, asked = LiveProtection(load_machine("whimbrel"), diameters=[0.015, 0.02]), []
    fields = SensorSources.fields

    def counted(self: SensorSources, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        asked.append(len(points))
        return fields(self, points)

    monkeypatch.setattr(SensorSources, "fields", counted)
    for cut in (0.0117, 0.0118):
        live.at(cut_length=cut, piece=BALL)
        assert bool(asked) == (cut == 0.0117)
        asked.clear()
