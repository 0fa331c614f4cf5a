"""The played stop against the race, the stages and the circuit; machines that know less."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from tripmargin.ground.errors import NotKnownError
from tripmargin.machine import Machine, load_machine
from tripmargin.protection import Race, race
from tripmargin.reports.how.curves import current_curve
from tripmargin.reports.how.data import how_data
from tripmargin.reports.how.inputs import Values
from tripmargin.reports.how.instants import timeline_of
from tripmargin.reports.how.power import power_lost, power_words
from tripmargin.reports.how.runs import Place, drawn_runs, middle_run
from tripmargin.reports.how.scenery import flux_lines
from tripmargin.sensing import Piece, sensor_fields
from tripmargin.stopping import stop_chain

BALL = Piece.ball(0.02)
CASES = [("dunlin", 0.006), ("dunlin", 0.019), ("curlew", 0.005), ("curlew", 0.022)]


def played(machine: Machine, cut: float) -> dict[str, object]:
    return timeline_of(middle_run(machine, cut, Place.of(machine, BALL)))


def due(run: Race) -> dict[str, float]:
    """The race's instants, s, added up here from its stages and from nothing else."""
    at, begun = {"crossing": 0.0}, 0.0
    stages = {stage.name: stage.nominal for stage in run.stages}
    pawls = [name[6:] for name in stages if name.startswith("swing ")]
    for name in ("decision_delay", "relay_release", "release", "plunger"):
        begun += stages[name]
        at[name] = begun
    for pawl in pawls:
        at[f"swing {pawl}"] = begun + stages[f"swing {pawl}"]
        at[f"tooth {pawl}"] = at[f"swing {pawl}"] + stages[f"tooth {pawl}"]
    at["rest"] = max(at[f"tooth {pawl}"] for pawl in pawls) + stages["rest"]
    return at


def place(line: dict[str, object], t: np.ndarray) -> np.ndarray:
    """The metal's place on a timeline, as its docstring says."""
    start, v, catch, rest, way = (line[k] for k in ("start", "speed", "catch", "rest", "way"))
    part = np.clip((t - catch) / rest, 0.0, 1.0)
    return start + v * np.minimum(t, catch) + way * part * (2 - part)


@pytest.mark.parametrize(("name", "cut"), CASES)
def test_the_instants_and_places_are_the_races(name: str, cut: float) -> None:
    # Issue 6: "The animation's instants equal the race's." To 1e-9 s; places to 0.1 mm.
    machine = load_machine(name)
    run, line = race(machine, cut_length=cut, piece=BALL), played(machine, cut)
    shown = {each["name"]: each["t"] for each in line["instants"] if each["name"] != "start"}
    assert shown == pytest.approx(due(run), abs=1e-9)
    assert shown["rest"] == pytest.approx(run.stop_time.nominal, abs=1e-9)
    assert line["margin"] == pytest.approx(run.margin.nominal, abs=1e-9)
    # The race gives its places at 160 instants; between them the way is bent.
    assert place(line, run.times) == pytest.approx(run.position, abs=1e-4)


@pytest.mark.parametrize("name", ["dunlin", "curlew", "whimbrel", "sanderling"])
def test_the_winding_current_is_at_release_as_the_spring_wins(name: str) -> None:
    # The file's own release current where the decay is computed from it; with a plunger of parts,
    # where spring less friction equals the magnet's force, i^2 L / (2 a) (one-gap magnet, texts).
    machine = load_machine(name)
    line = played(machine, machine.feed.cut_lengths[0])
    current, held = line["current"], machine.chain.hold_winding
    at = np.interp(line["lets_go"], current["t"], current["i"])
    parts = machine.chain.plunger.parts
    if parts is None:
        wins = held.release_current.nominal
    else:
        force = parts.spring_force.nominal - parts.friction.nominal
        wins = np.sqrt(2 * parts.magnet_gap.nominal * force / held.inductance.nominal)
    assert at == pytest.approx(wins, rel=2e-3)  # between points of a drawn curve
    assert current["release"] == pytest.approx(wins, rel=1e-6)


def test_no_curve_is_drawn_of_a_decay_that_was_only_timed() -> None:
    machine = load_machine("dunlin").with_settings({"chain.hold_winding.release_time": 0.004})
    assert current_curve(Values(machine), 0.0, 0.004) is None


def test_power_lost_stops_the_rolls_without_a_trip() -> None:
    machine = load_machine("whimbrel")
    run = middle_run(machine, 0.028, Place.of(machine, BALL))
    line, chain = timeline_of(run.without_trip()), stop_chain(machine, cut_length=0.028)
    left = {s.name: s.nominal for s in chain.stages}
    saved = left["decision_delay"] + left["relay_release"]
    assert line["trip"] is None
    assert line["stands"] == pytest.approx(chain.stop_time.nominal - saved, abs=1e-9)
    travel = line["place"] - line["start"]
    assert travel == pytest.approx(chain.travel.nominal - saved * run.metal_speed, abs=1e-9)


@pytest.mark.parametrize("name", ["dunlin", "curlew", "whimbrel", "sanderling"])
def test_the_wiring_itself_stops_the_feed_without_power(name: str) -> None:
    runs, dead, back = power_lost(load_machine(name))
    assert (runs.plunger, runs.pawls, runs.rolls) == ("in", "out", "forward")
    assert (dead.plunger, dead.pawls, dead.rolls) == ("out", "in", "stopped")
    assert set(dead.lamps.values()) == {"off"}
    assert (back.tripped, back.rolls) == (True, "stopped")  # until somebody resets it


def test_drawn_stops_are_the_same_every_time_and_within_the_limits() -> None:
    machine = load_machine("curlew")
    at = Place.of(machine, BALL)
    once, again = (drawn_runs(machine, 0.022, at) for _ in range(2))
    assert [run.stages for run in once] == [run.stages for run in again]
    chain = stop_chain(machine, cut_length=0.022)
    for run in once:
        for stage, limits in zip(run.stages, chain.stages, strict=True):
            assert limits.low - 1e-12 <= stage.nominal <= limits.high + 1e-12
    travel = [timeline_of(run)["place"] - run.start for run in once]
    assert chain.travel.low <= min(travel) < max(travel) <= chain.travel.high


def test_metal_that_is_too_late_reaches_the_knives_when_the_race_says() -> None:
    late = load_machine("whimbrel").with_settings({"feed.sensor_to_shear_bar": 0.145})
    run, line = race(late, cut_length=0.028, piece=BALL), played(late, 0.028)
    assert run.margin.nominal < 0
    through = next(each["t"] for each in line["instants"] if each["name"] == "through")
    assert line["catch"] < through < line["stands"]  # it is slowing down already
    assert place(line, np.array(through)) == pytest.approx(0.145, abs=1e-9)
    assert np.interp(through, run.times, run.position) == pytest.approx(0.145, abs=1e-4)
    assert line["result"].startswith("Too late")


def test_flux_lines_run_along_the_field() -> None:
    machine = load_machine("sanderling")
    for y, z in flux_lines(machine, 0.0):
        step = np.diff(np.stack([y, z], axis=1), axis=0)
        middle = np.stack([y, z], axis=1)[:-1] + step / 2
        points = np.column_stack([np.zeros(len(middle)), middle])
        field = sensor_fields(machine, points)[0][:, 1:]
        size = np.linalg.norm(step, axis=1) * np.linalg.norm(field, axis=1)
        along = np.abs((step * field).sum(axis=1)) / size
        assert np.median(along) > 0.999


def test_a_machine_without_wiring_or_sensor_still_gets_what_is_known() -> None:
    whole = load_machine("dunlin")
    bare = replace(whole, circuit=None, checks=None, sensor=None)
    data = how_data(bare, cut_length=0.009, piece=BALL)
    line = data["variants"]["base"]["metal"]
    axis = race(bare, cut_length=0.009)
    assert line["voltage"] is None
    assert line["margin"] == pytest.approx(axis.margin.nominal, abs=1e-9)
    assert "does not give a wiring" in power_words(bare)[0]
    assert any("sensor" in note for note in data["notes"])
    assert {group["name"] for group in data["groups"]}.isdisjoint({"magnet", "turns"})


def test_a_machine_without_a_stop_is_refused_plainly() -> None:
    with pytest.raises(NotKnownError, match="chain"):
        how_data(replace(load_machine("dunlin"), chain=None), cut_length=0.009, piece=BALL)


def test_what_is_not_caught_is_not_stopped() -> None:
    data = how_data(load_machine("dunlin"), cut_length=0.006, piece=Piece.ball(0.003))
    line = data["variants"]["base"]["metal"]
    assert not line["caught"]
    assert line["stands"] is None
    assert line["instants"][-1]["name"] == "through"
    assert data["variants"]["base"]["lost"]["stands"] is not None


def test_a_plunger_that_sticks_never_stops_the_feed() -> None:
    # 1 N of spring against 3 N of friction moves nothing.
    stuck = load_machine("curlew").with_settings({"chain.plunger.parts.spring_force": 1.0})
    data = how_data(stuck, cut_length=0.022, piece=BALL)
    for happens in ("metal", "lost"):
        line = data["variants"]["base"][happens]
        assert line["stands"] is None
        assert line["place"] is None
        assert "never comes about" in line["result"]
        assert "rest" not in {each["name"] for each in line["instants"]}


def test_before_and_after_are_the_races_of_both() -> None:
    before = load_machine("whimbrel")
    after = before.with_settings({"clearance": 0.009})
    data = how_data(after, cut_length=0.028, piece=BALL, before=before)
    for machine, name in ((before, "before"), (after, "base")):
        run = race(machine, cut_length=0.028, piece=BALL)
        line = data["variants"][name]["metal"]
        assert line["margin"] == pytest.approx(run.margin.nominal, abs=1e-9)
    group = data["groups"][0]
    assert [each["id"] for each in group["plates"]] == ["base", "before"]
    assert "chain.pawls.lower.clearance" in group["note"]


def test_what_the_file_alone_cannot_tell_is_not_set_beside() -> None:
    whole = load_machine("whimbrel")
    bare = replace(whole, feed=replace(whole.feed, sensor_to_shear_bar=None))
    data = how_data(whole, cut_length=0.028, piece=BALL, before=bare)
    assert "before" not in data["variants"]
    assert data["groups"][0]["name"] == "cut"


def test_us_units_are_told_everywhere() -> None:
    data = how_data(load_machine("whimbrel"), cut_length=0.028, piece=BALL, us=True)
    base = data["variants"]["base"]
    told = [base[k][w] for k in ("metal", "lost") for w in ("lead", "result")]
    told += [each["then"] for each in base["metal"]["instants"]]
    told += [each["words"] for group in data["groups"] for each in group["plates"]]
    told += data["notes"]
    text = " ".join(told).replace("20 mm ball", "")
    assert not re.search(r"\d (mm|m/s)\b", text)
    assert "1.1 in cut, 1283 ft/min" in text  # 28 mm over 25.4; 6.52 m/s over 0.00508 m/s
