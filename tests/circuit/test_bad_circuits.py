import copy

import pytest

from tests.circuit.plover_circuit import plover
from tripmargin.circuit import (
    CircuitError,
    Fault,
    Network,
    RelayUnit,
    Resistor,
    Source,
    fault_from_neutral,
    network_from_neutral,
    network_of,
    operate,
    step_from_neutral,
    wire_resistance,
    with_fault,
)

SMALL = {
    "netlist": [
        {"id": "B", "type": "source", "p": "30", "n": "0", "volts": 12.6},
        {"id": "KEY", "type": "contact", "p": "30", "n": "15", "ohm_closed": 0.01, "by": "key"},
        {"id": "W", "type": "wire", "p": "15", "n": "a", "ohm": 0.05},
        {"id": "K1_COIL", "type": "coil", "p": "a", "n": "0", "ohm": 90},
        {"id": "K1_NO", "type": "contact", "p": "15", "n": "b", "ohm_closed": 0.01,
         "by": "relay:K1:no"},
        {"id": "H", "type": "lamp", "p": "b", "n": "0", "ohm": 72},
    ],
    "relays": {"K1": {"coil": "K1_COIL", "pickup_V": 7.2, "dropout_V": 1.8}},
    "steps": [{"name": "on", "key": 1, "volts": 12.6}],
}  # fmt: skip


def changed(place, **values):
    """The small circuit with one element changed; None takes a value away."""
    machine = copy.deepcopy(SMALL)
    row = machine["netlist"][place]
    row |= values
    for key in [key for key, value in row.items() if value is None]:
        del row[key]
    return machine


def error(machine):
    with pytest.raises(CircuitError) as caught:
        network_from_neutral(machine)
    return caught.value


def test_the_small_circuit_itself_is_sound():
    assert operate(network_from_neutral(SMALL))["on"].lamps == {"H": "on"}


@pytest.mark.parametrize(
    ("machine", "field", "says"),
    [
        (changed(2, n=None), "W.n", "this terminal is not connected"),
        (changed(2, n=""), "W.n", "this terminal is not connected"),
        (changed(5, id="W"), "W", "2 parts have this name"),
        (changed(2, n="aa"), "W", "this wire goes nowhere"),
        (changed(2, type="wier"), "W.type", "there is no such element"),
        (changed(2, ohm=0.0), "W.ohm", "without resistance"),
        (changed(2, ohm=float("nan")), "W.ohm", "without resistance"),
        (changed(2, ohm="thick"), "W", "not a number"),
        (changed(2, ohm=None), "W.ohm", "missing"),
        (changed(1, by="kea"), "KEY.by", "no such way to move a contact"),
        (changed(1, by="relay:K9:no"), "KEY.by", "no such relay"),
        (changed(1, by="module:out"), "KEY.by", "is missing"),
        (changed(5, type="source", volts=12.0, p="30"), "H", "ideal sources form a loop"),
        (SMALL | {"netlist": []}, "parts", "no parts"),
        (SMALL | {"relays": {"K1": {"coil": "K1", "pickup_V": 7, "dropout_V": 1}}},
         "relay K1.coil", "no such part"),
        (SMALL | {"relays": {"K1": {"coil": "K1_COIL"}}}, "pickup_V", "missing"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_named_with_its_place_and_its_mending(machine, field, says):
    found = error(machine)
    assert field in found.field
    assert says in str(found)


def test_a_part_that_hangs_in_the_air_is_named_by_its_nodes():
    parts = (Source("B", "30", "0"), Resistor("R", "30", "0", 1.0), Resistor("X", "u", "v", 1.0))
    with pytest.raises(CircuitError, match="u, v: nothing connects this"):
        Network(parts)


def test_all_problems_are_told_at_once():
    machine = changed(2, type="wier")
    machine["netlist"][5]["p"] = None
    assert [problem.field for problem in error(machine).problems] == ["W.type", "H.p"]


def test_a_slip_of_the_pen_gets_the_nearest_word():
    assert 'Did you mean "wire"?' in str(error(changed(2, type="wier")))


def test_an_unknown_step_is_named_with_those_that_there_are():
    with pytest.raises(CircuitError, match='Did you mean "reverse to reset"') as caught:
        operate(plover(), ["revers to reset"])
    assert "no such step" in str(caught.value)


def test_a_step_needs_a_name_and_volts():
    with pytest.raises(CircuitError, match="name and volts"):
        step_from_neutral({"name": "on", "key": 1})


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ({"ops": [{"op": "opne", "element": "W"}]}, "no such operation"),
        ({"ops": [{"op": "ohm", "element": "W"}]}, "missing"),
        ({"ops": [{"op": "open", "element": "WW"}]}, "no such part"),
        (
            {"ops": [{"op": "stuck", "element": "W", "closed": True}]},
            'does not fit a part of the kind "wire"',
        ),
        ({"ops": [{"op": "reverse", "element": "W"}]}, 'does not fit a part of the kind "wire"'),
        ({"ops": [{"op": "pulls_at", "relay": "K7", "value": 9}]}, "no such relay"),
        ({"behaviour": {"detector_dead": True}}, "no such fault behaviour"),
    ],
)
def test_a_fault_that_does_not_fit_is_refused(row, says):
    with pytest.raises(CircuitError, match=says):
        with_fault(network_from_neutral(SMALL), fault_from_neutral("f", row))


def test_a_device_with_a_loose_terminal_is_refused():
    relay = RelayUnit("K1", {"86": "30", "30": "30", "87b": "a"})
    with pytest.raises(CircuitError) as caught:
        network_of([Source("B", "30", "0"), relay])
    assert {problem.field for problem in caught.value.problems} == {"K1.85", "K1.87b"}


@pytest.mark.parametrize(("length", "section"), [(0.0, 1e-6), (-1.0, 1e-6), (1.0, 1.2e-6)])
def test_a_wire_that_is_not_in_the_table_is_refused(length, section):
    with pytest.raises(CircuitError, match="no such wire"):
        wire_resistance(length, section)


def test_an_unknown_row_or_step_of_a_table_is_named():
    from tripmargin.circuit import fault_table

    table = fault_table(plover(), ["key off"], [Fault("none", "")])
    with pytest.raises(CircuitError, match="no such fault"):
        table.shows("nane", "key off")
    with pytest.raises(CircuitError, match="no such step"):
        table.shows("none", "key of")
