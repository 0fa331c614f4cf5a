import json

import pytest

from tests.circuit.plover_circuit import plover
from tripmargin.circuit import (
    FUSE_HOLDS,
    Change,
    Fault,
    Lamp,
    Led,
    Network,
    Resistor,
    Source,
    Step,
    operate,
)
from tripmargin.circuit.indicators import stop
from tripmargin.circuit.memory import Before
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


def test_of_two_fuses_in_a_row_the_smaller_opens_alone():
    short = Fault("short", "", (Change("add", added=Resistor("X", "15a", "0", 0.05)),))
    states = operate(plover(), faults=[short])
    assert states["armed"].blew == ("F2",)  # 5 A; F1, before it, is 20 A and overloaded too
    assert states["forward"].fuses_blown == ("F2",)


def test_a_check_button_that_stays_pressed_trips_once_and_not_again():
    pressed = {"key": "on", "arm": "on", "check": "on"}
    states = operate(
        plover(),
        [
            *plover().steps[:7],
            Step("press", pressed | {"shift": "forward"}, 13.8, engine=True),
            Step("reset", pressed | {"shift": "reverse"}, 13.8, engine=True),
            Step("on", pressed | {"shift": "forward"}, 13.8, engine=True),
        ],
    )
    assert [states[name].tripped for name in ("press", "reset", "on")] == [True, False, False]


def test_the_supply_limit_is_lower_on_the_way_down_than_on_the_way_up():
    # rises 10.0 V, falls 9.6 V; a few hundredths are lost in the wires
    on = {"key": "on", "arm": "on"}
    levels = [("up", 9.85), ("high", 12.6), ("down", 9.85), ("low", 9.5), ("up again", 9.85)]
    states = operate(plover(), [Step(name, on, volts) for name, volts in levels])
    assert [state.in_range for state in states] == [False, True, True, False, False]
    assert all(9.6 < states[name].supply < 10.0 for name in ("up", "down", "up again"))


def test_without_the_engine_no_roll_turns():
    steps = [Step(step.name, step.switches, step.volts, engine=False) for step in plover().steps]
    assert {state.rolls for state in operate(plover(), steps)} == {"stopped"}


def test_metal_counts_only_while_the_rolls_go_forward():
    armed = plover().steps[:6]
    metal = Step("metal", {"key": "on", "arm": "on", "shift": "neutral"}, 13.8, True, True)
    assert not operate(plover(), [*armed, metal])["metal"].tripped


def test_a_lamp_burns_either_way_round_and_an_led_does_not():
    for lamp, word in ((Lamp("H", "0", "30", 48.0), "on"), (Led("H", "0", "30"), "off")):
        network = Network((Source("B", "30", "0", 12.6), lamp))
        assert operate(network, [Step("on")])["on"].lamps == {"H": word}


@pytest.mark.parametrize(("volts", "word"), [(2.9, "off"), (3.1, "dim"), (7.1, "dim"), (7.3, "on")])
def test_a_lamp_is_dim_between_its_two_voltages(volts, word):
    network = Network((Source("B", "30", "0", volts), Lamp("H", "30", "0", 48.0)))
    assert operate(network, [Step("on")])["on"].lamps == {"H": word}


@pytest.mark.parametrize(("amps", "word"), [(0.45e-3, "off"), (0.55e-3, "dim"), (3.1e-3, "on")])
def test_an_led_is_dim_between_its_two_currents(amps, word):
    network = Network((Source("B", "30", "0", 2.0 + 1000.0 * amps), Led("H", "30", "0")))
    assert operate(network, [Step("on")])["on"].lamps == {"H": word}


def test_rolls_that_jerk_have_neither_stopped_nor_run_on():
    step = next(step for step in plover().steps if step.name == "metal")
    ran = Before("forward", "out", alive=True, tripped=False)
    for rolls, word in (("jerking", None), ("forward", "runs on"), ("stopped", "in time")):
        assert stop(plover(), step, ran, ran._replace(rolls=rolls, pawls="in"), False) == word


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
