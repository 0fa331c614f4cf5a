import json

import pytest

from tests.circuit.plover_circuit import plover
from tripmargin.circuit import FUSE_HOLDS, Fault, Step, operate
from tripmargin.circuit.running import Runner, run_together


def test_a_healthy_day_goes_as_the_operators_manual_would_say():
    states = operate(plover())
    assert not any(state.chatter or state.fuses_blown for state in states)
    assert states["armed"].tripped  # it comes up tripped
    assert states["armed"].lamps["tripped"] == "on"
    assert states["reverse to reset"].plunger_word == "pulled"
    assert states["running"].plunger_word == "held"
    assert states["running"].rolls == "forward"
    assert states["metal"].plunger_word == "dropped"
    assert [states[name].stop for name in ("metal", "check pressed", "supply dips")] == [
        "in time",
        "in time",
        "in time",
    ]
    assert states["forward, not reset"].rolls == "stopped"


def test_a_locked_feed_stays_tripped_and_cannot_be_reset():
    states = operate(plover())
    assert states["locked"].tripped
    assert states["locked, reverse"].tripped
    assert states["locked"].pawls == "out"
    assert states["lock off"].tripped
    assert states["lock off"].pawls == "in"


def test_a_locked_feed_with_a_mechanical_shift_runs_unprotected():
    states = operate(plover(forward=None, reverse=None))
    assert states["locked, forward"].tripped
    assert states["locked, forward"].rolls == "forward"


def test_a_lock_that_holds_the_plunger_out_keeps_the_feed_stopped():
    states = operate(plover(forward=None, reverse=None, lock_holds="plunger out"))
    assert states["locked, forward"].rolls == "stopped"


def test_steps_can_be_chosen_by_name_or_made_up():
    own = Step("flat battery", {"key": "on", "arm": "on"}, volts=5.0)
    states = operate(plover(), ["armed", own])
    assert [state.step for state in states] == ["armed", "flat battery"]
    assert states[1].supply < 6.0
    assert states[1].lamps["tripped"] == "off"
    with pytest.raises(KeyError):
        states["metal"]


def test_a_seized_plunger_neither_moves_in_nor_out():
    for place in ("in", "out"):
        fault = Fault("seized", "", behaviour={"plunger_stuck": place})
        assert {state.plunger for state in operate(plover(), faults=[fault])} == {place}


def test_a_fuse_opens_only_well_above_its_rating():
    healthy = operate(plover())["forward"].currents["F1"]
    from dataclasses import replace

    def with_rating(amps):
        network = plover()
        parts = [
            replace(part, rating=amps) if part.name == "F1" else part for part in network.parts
        ]
        return operate(replace(network, parts=tuple(parts)))["forward"].fuses_blown

    assert with_rating(1.001 * healthy / FUSE_HOLDS) == ()
    assert with_rating(0.999 * healthy / FUSE_HOLDS) == ("F1",)


def test_states_are_ready_for_json_with_units():
    text = json.dumps(operate(plover(), ["armed", "forward"]).to_dict(), allow_nan=False)
    first = json.loads(text)["steps"][0]
    assert {"voltages_V", "currents_A", "lamps", "greatest_pull_A"} <= set(first)
    assert first["module"]["supply_V"] > 12


def test_networks_worked_out_together_are_as_each_alone():
    first, second = Runner(plover()), Runner(plover(hold_min=0.9))
    together = run_together([first, second], plover().steps)
    for network, outcomes in zip((first.network, second.network), together, strict=True):
        alone = run_together([Runner(network)], plover().steps)[0]
        assert [each.lamps for each in outcomes] == [each.lamps for each in alone]
        assert [each.memory for each in outcomes] == [each.memory for each in alone]
