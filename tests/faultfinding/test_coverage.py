"""What the checks prove and leave open, against brute force over the fault tables."""

from __future__ import annotations

import json

import numpy as np
import pytest

from tests.faultfinding.charting import coverage_of, problem_of
from tripmargin.circuit import FaultTable
from tripmargin.faultfinding.charts.effects import LATE, STOPPED, THROUGH


def table_of(state: str) -> FaultTable:
    of = problem_of()
    return of.shown.tables[[each.name for each in of.states].index(state)]


def brute(states, columns, faults):
    """Circuit faults that differ in the last step of some state, straight from the tables."""
    found = set()
    for state in states:
        table = table_of(state)
        for fault in faults:
            row = table.faults.index(fault)
            for column in set(columns) - out_of_sight(state):
                k = table.columns.index(column)
                if table.words[row, -1, k] != table.words[0, -1, k]:
                    found.add(fault)
    return found


def out_of_sight(name):
    """Lamps beside the machine, which nobody goes to while the engine runs."""
    of = problem_of()
    state = next(each for each in of.states if each.name == name)
    return set(of.checks.beside) if state.running else set()


def circuit_faults():
    """Single lasting faults of the wiring at their listed strength, by id."""
    of = problem_of()
    every = [*(h for h in of.hypotheses if h.listed), *of.invisible]
    return [h.id for h in every if h.faults and h.shows == 1]


def path_named(name):
    return next(path for path in problem_of().checks.paths if path.name == name)


@pytest.mark.parametrize("name", ["wake-up check", "reset check", "daily trip and reset"])
def test_a_path_shows_what_the_fault_tables_say(name):
    path = path_named(name)
    watch = path.watch or [*(sign for sign, _, _ in problem_of().shown.signs), "rolls"]
    expected = brute(path.states, watch, circuit_faults())
    found = next(each for each in coverage_of().paths if each.name == name)
    assert set(found.shows) & set(circuit_faults()) == expected


def test_shows_and_misses_split_every_single_fault_and_the_share_is_by_rate():
    covered = coverage_of()
    rates = {fault.id: fault.rate for fault in covered.faults}
    for path in (*covered.paths, *covered.kinds):
        assert sorted((*path.shows, *path.misses)) == sorted(rates)
        shown = sum(rates[name] for name in path.shows)
        assert path.share == pytest.approx(shown / sum(rates.values()))


def test_silent_faults_leave_every_lamp_healthy_in_every_state_and_no_other_does():
    of = problem_of()
    signs = [name for name, _, _ in of.shown.signs]
    differ = brute([state.name for state in of.states], signs, circuit_faults())
    silent = set(coverage_of().silent) & set(circuit_faults())
    assert silent == set(circuit_faults()) - differ


@pytest.mark.parametrize(
    ("fault", "metal"),
    [
        ("plunger_spring_weak", LATE),
        ("clearance_wide", LATE),
        ("pawl_spring_broken", THROUGH),
        ("S:magnets weak", THROUGH),
        ("S:turned", THROUGH),
        ("D:gain low", THROUGH),
    ],
)
def test_the_known_traps_leave_every_lamp_healthy_and_do_not_stop_metal_in_time(fault, metal):
    covered = coverage_of()
    assert fault in covered.silent
    assert covered.fault(fault).metal == metal


def test_a_dead_sensing_stage_is_silent_until_a_stop_is_asked_for():
    covered = coverage_of()
    assert "detect_dead" in covered.silent_until_stop
    assert covered.fault("detect_dead").metal == THROUGH


DEMOS = ("dunlin", "curlew", "whimbrel", "sanderling")


@pytest.mark.parametrize("name", DEMOS)
def test_a_welded_hold_relay_looks_healthy_while_the_feed_runs_until_metal_goes_through(name):
    covered = coverage_of(name)
    assert covered.fault("K1:welded").metal == THROUGH
    assert "K1:welded" in (*covered.silent_until_stop, *covered.silent_while_feeding)


@pytest.mark.parametrize("name", DEMOS)
def test_every_demo_names_its_weak_plunger_spring_broken_pawl_spring_and_wide_clearance(name):
    covered = coverage_of(name)
    traps = {"plunger_spring_weak", "pawl_spring_broken", "clearance_wide"}
    assert traps <= set(covered.silent)
    assert all(covered.fault(trap).metal != STOPPED for trap in traps)


def test_silent_while_feeding_is_what_the_tables_of_feeding_states_say():
    of, covered = problem_of(), coverage_of()
    signs = [name for name, _, _ in of.shown.signs]
    feeding = [
        state.name
        for state in of.states
        if table_of(state.name).shows("healthy", state.steps[-1])["rolls"] == "forward"
    ]
    assert feeding
    differ = brute(feeding, signs, circuit_faults())
    quiet = {*covered.silent, *covered.silent_until_stop, *covered.silent_while_feeding}
    assert quiet & set(circuit_faults()) == set(circuit_faults()) - differ


def test_what_the_daily_check_leaves_open_is_shown_by_the_look_that_is_named():
    of, covered = problem_of(), coverage_of()
    daily = next(path for path in covered.paths if path.name == covered.daily)
    assert covered.not_daily
    looks = {each.question.id: each for each in of.looks}
    for name in covered.not_daily:
        assert name in daily.misses
        look = looks[covered.fault(name).quickest]
        assert look.answers[of.problem.hypotheses.index(name)] != 0


def test_what_nothing_shows_is_shown_by_no_look_and_changes_nothing_that_is_seen():
    covered = coverage_of()
    assert covered.nothing_shows == tuple(each.id for each in problem_of().invisible)
    for name in covered.nothing_shows:
        fault = covered.fault(name)
        assert (fault.paths, fault.kinds, fault.quickest) == ((), (), "")
        assert fault.metal == STOPPED


def test_the_quickest_look_is_the_quickest():
    of = problem_of()
    move, start = of.problem.move, of.problem.start_state
    for fault in coverage_of().faults:
        if not fault.quickest:
            continue
        row = of.problem.hypotheses.index(fault.id)
        least = min(
            each.question.minutes + move[start, of.problem.states.index(each.question.state)]
            for each in of.looks
            if each.answers[row] != 0
        )
        assert fault.quickest_minutes == pytest.approx(float(least))


def test_rates_and_their_sources_are_those_of_the_faults():
    of, covered = problem_of(), coverage_of()
    causes = {h.id: h.causes[0] for h in of.hypotheses if len(h.causes) == 1}
    for fault in covered.faults:
        if fault.id in causes:
            assert (fault.rate, fault.source) == (causes[fault.id].rate, causes[fault.id].source)
    assert "invented" in covered.rates


def test_the_whole_is_plain_json():
    made = json.loads(json.dumps(coverage_of().to_dict()))
    assert len(made["faults"]) == len(coverage_of().faults)
    assert np.isfinite([fault["rate"] for fault in made["faults"]]).all()
