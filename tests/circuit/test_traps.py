"""Faults that mislead: what they show, and what they do not."""

import pytest

from tests.circuit.plover_circuit import plover
from tests.reference import reference_cases
from tripmargin.circuit import (
    Change,
    Fault,
    Resistor,
    fault_from_neutral,
    fault_table,
    network_from_neutral,
    operate,
)

SEEN = "metal"  # the step in which iron comes

CASES = reference_cases("chain/circuit_cases_open.json")


def machine(name):
    return network_from_neutral(CASES["machines"][name])


def fault(of, name):
    row = next(c for c in CASES["open"] if (c["machine"], c["case"]) == (of, name))
    return fault_from_neutral(name, row["fault"])


def played(of, name):
    return operate(machine(of), faults=[fault(of, name)])


def test_a_level_reset_stuck_closed_arms_itself_again():
    states = played("slow_trailed", "reset_stuck_closed")
    assert not states["armed"].tripped  # a healthy machine comes up tripped
    assert states["metal"].momentary_trip
    assert states[SEEN].stop == "stops and restarts"
    assert not states["metal"].tripped


def test_an_edge_reset_stuck_closed_never_arms():
    states = played("fast_sp", "reset_stuck_closed")
    assert all(state.tripped for state in states)


def test_a_weak_battery_chatters_where_the_reset_goes_by_level():
    state = played("slow_trailed", "battery_weak")["reverse_reset"]
    assert state.chatter
    assert set(state.alternates) == {"relay:K1", "latch", "in_range"}
    assert len(state.moments) == 4
    assert set(state.lamps.values()) == {"flicker"}


def test_a_weak_battery_trips_for_good_where_the_reset_goes_by_edge():
    state = played("trailed", "battery_weak")["reverse_reset"]
    assert not state.chatter
    assert state.tripped
    assert state.least_supply < 9.8 < state.supply


def test_an_open_hold_winding_lets_the_plunger_dance():
    state = played("slow_trailed", "hold_open")["forward"]
    assert state.alternates == ("plunger",)
    assert state.rolls == "jerking"


QUIET = ("plunger_spring_weak", "pawl_spring_broken", "suppression_open")


@pytest.mark.parametrize("name", ["slow_trailed", "trailed", "fast_sp"])
def test_some_faults_leave_every_lamp_healthy(name):
    wide = Fault("clearance 8 mm", "pawls too far out", behaviour={"clearance_wide": True})
    table = fault_table(machine(name), None, [wide, *(fault(name, each) for each in QUIET)])
    assert set(table.silent()) == {"clearance 8 mm", *QUIET}
    assert table.shows("clearance 8 mm", SEEN)["stop"] == "late"
    assert table.shows("plunger_spring_weak", SEEN)["stop"] == "late"
    assert table.shows("pawl_spring_broken", SEEN)["stop"] not in ("in time", "late")


def test_a_welded_relay_looks_healthy_while_running_and_shows_when_metal_comes():
    # Before the machine was ever reset it gives itself away: the hold lamp is on too early.
    table = fault_table(machine("slow_trailed"), None, [fault("slow_trailed", "relay_welded")])
    wrong = {(step, column) for step, column, _, _ in table.differs("relay_welded")}
    for step in ("reverse_reset", "forward", "running"):
        assert not [column for at, column in wrong if at == step]
    assert table.shows("relay_welded", SEEN)["stop"] == "runs on"
    assert table.shows("relay_welded", "armed")["H_HOLD"] == "on"


def test_a_dead_detector_passes_the_dip_and_fails_metal_and_check():
    states = played("slow_trailed", "detector_dead")
    assert states["supply_dip"].stop == "in time"
    assert states[SEEN].stop == states["test_pressed"].stop == "runs on"


def test_a_corroded_ground_dims_a_lamp():
    lamps = [state.lamps for state in played("fast_sp", "gnd_detector_open")]
    words = {word for each in lamps for word in each.values()}
    assert "dim" in words


def test_an_end_switch_stuck_closed_costs_the_fuse():
    states = played("slow_trailed", "end_switch_closed")
    assert states["reverse_reset"].blew == ("F1",)
    assert states["reverse_reset"].greatest_pull > 13.5
    assert states["forward"].fuses_blown == ("F1",)
    assert states["forward"].blew == ()


def test_a_sneak_path_lights_a_lamp_that_proves_something_else():
    # The lead of the reset lamp touches the live trip path.
    sneak = Fault("sneak", "wire rubbed through", (
        Change("add", added=Resistor("sneak", "K1.86", "D.R", 0.5)),
    ))  # fmt: skip
    healthy, faulty = operate(plover()), operate(plover(), faults=[sneak])
    assert healthy["running"].lamps["reset heard"] == "off"
    assert faulty["running"].lamps["reset heard"] == "on"


def test_a_diode_the_wrong_way_round_kills_the_modules_output_path():
    back = Fault("back", "", (Change("reverse", "K1.suppression"),))
    states = operate(plover(), faults=[back])
    assert states["armed"].lamps == operate(plover())["armed"].lamps
    assert states["reverse to reset"].relays == {"K1": False}


def test_a_masking_pair_shows_less_than_either_alone():
    # A blown alarm lamp hides what a dead buzzer leaves to see, and the two together are silent.
    of = "slow_trailed"
    lamp, buzzer = fault(of, "blown_H_ALARM"), fault(of, "buzzer_open")
    table = fault_table(machine(of), ["key_on", "armed"], [lamp, buzzer, (lamp, buzzer)])
    both = table.shows("blown_H_ALARM + buzzer_open", "armed")
    assert (both["H_ALARM"], both["BUZZER"]) == ("off", "off")
    assert table.shows("blown_H_ALARM", "armed")["BUZZER"] == "on"


def test_a_dead_sensor_behind_a_welded_relay_shows_only_once_that_is_mended():
    of = "slow_trailed"
    welded, dead = fault(of, "relay_welded"), fault(of, "detector_dead")
    table = fault_table(machine(of), None, [welded, dead, (welded, dead)])
    both = "relay_welded + detector_dead"
    assert table.shows(both, SEEN)["stop"] == table.shows("relay_welded", SEEN)["stop"]
    assert table.shows("detector_dead", SEEN)["stop"] == "runs on"
    assert table.shows(both, "metal")["H_TRIPLINE"] == "on"
    assert table.shows("relay_welded", "metal")["H_TRIPLINE"] == "off"
