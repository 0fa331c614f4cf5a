import itertools
import json

import pytest

from tests.circuit.plover_circuit import plover
from tripmargin.circuit import (
    Change,
    CircuitError,
    Failed,
    Fault,
    Resistor,
    fault_from_neutral,
    fault_modes,
    fault_table,
    operate,
    pairs,
    with_fault,
    with_faults,
)


def fault(kind, part, value=None):
    return Fault(f"{part} {kind}", "", (Change(kind, part, value),), parts=(part,))


def test_each_kind_of_change_does_what_it_says():
    network = plover()
    assert with_fault(network, fault("open", "W2")).part("W2").ohm == network.open_ohm
    assert with_fault(network, fault("short", "T")).part("T").ohm < 0.1
    assert with_fault(network, fault("ohm", "frame", 3.0)).part("frame").ohm == 3.0
    assert with_fault(network, fault("stuck", "key", True)).part("key").stuck is True
    assert with_fault(network, fault("open", "key")).part("key").stuck is False
    turned = with_fault(network, fault("reverse", "V1")).part("V1")
    assert (turned.p, turned.n) == ("D.L", "LC")
    assert with_fault(network, fault("pulls_at", "K1", 11.0)).relays[0].pulls_at == 11.0
    offset = Fault("low", "", (Change("volts_offset", value=-2.0),))
    assert with_faults(network, (offset, offset)).volts_offset == -4.0
    with pytest.raises(CircuitError, match="no such part"):
        with_fault(network, fault("open", "W99"))


def test_the_healthy_network_is_left_as_it_was():
    network = plover()
    with_fault(network, fault("open", "W2"))
    assert network == plover()


def test_the_order_of_faults_does_not_matter():
    chafed = Fault("chafed", "", (Change("add", added=Resistor("X", "Y.87", "0", 0.5)),))
    several = [
        fault("open", "W2"),
        fault("ohm", "W2", 5.0),
        fault("short", "W2"),
        chafed,
        fault("stuck", "key", True),
        fault("stuck", "key", False),
    ]
    made = {
        frozenset(with_faults(plover(), order).parts) for order in itertools.permutations(several)
    }
    assert len(made) == 1


def test_in_one_part_the_broken_wins_over_the_rest():
    both = with_faults(plover(), (fault("open", "W2"), fault("ohm", "W2", 5.0)))
    assert isinstance(both.part("W2"), Failed)
    assert both.part("W2").ohm == both.open_ohm


def test_a_contact_said_to_be_stuck_both_ways_is_open():
    both = (fault("stuck", "key", True), fault("stuck", "key", False))
    assert with_faults(plover(), both).part("key").stuck is False


def test_two_faults_may_add_parts_of_one_name():
    one, two = (
        Fault(name, "", (Change("add", added=Resistor("X1", node, "0", 0.5)),))
        for name, node in (("a", "Y.87"), ("b", "D.R"))
    )
    names = [part.name for part in with_faults(plover(), (one, two)).parts]
    assert len(names) == len(set(names))
    assert sum(name.endswith("X1") for name in names) == 2


def test_a_broken_lamp_stays_in_the_list_and_stays_dark():
    for kind in ("open", "short"):
        states = operate(plover(), faults=[fault(kind, "hold powered")])
        assert {state.lamps["hold powered"] for state in states} == {"off"}


def test_a_weak_relay_does_not_pull():
    states = operate(plover(), faults=[fault("pulls_at", "K1", 14.5)])
    assert not any(state.relays["K1"] for state in states)
    assert states["reverse to reset"].lamps["trip path live"] == "on"


def test_the_neutral_form_knows_every_kind():
    row = {
        "text": "all at once",
        "ops": [
            {"op": "open", "element": "W2"},
            {"op": "short", "element": "T"},
            {"op": "ohm", "element": "frame", "value": 2.0},
            {"op": "stuck", "element": "key", "closed": False},
            {"op": "reverse", "element": "V1"},
            {"op": "volts_offset", "value": -1.0},
            {"op": "pulls_at", "relay": "K1", "value": 12.0},
            {
                "op": "add",
                "element": {"id": "X", "type": "resistor", "p": "D.R", "n": "0", "ohm": 1.0},
            },
        ],
        "behaviour": {"detect_dead": True, "clearance_8mm": True},
    }
    found = fault_from_neutral("f", row)
    assert [change.kind for change in found.changes] == [op["op"] for op in row["ops"]]
    assert with_fault(plover(), found).behaviour == {"detect_dead": True, "clearance_wide": True}
    assert operate(plover(), faults=[found])["metal"].rolls == "stopped"


def test_every_default_fault_runs_and_says_where_its_rate_is_from():
    modes = fault_modes(plover())
    ids = [mode.fault.id for mode in modes]
    assert len(ids) == len(set(ids))
    assert all(mode.rate > 0 and mode.source for mode in modes)
    assert {mode.source for mode in modes} == {"invented"}
    table = fault_table(plover(), None, [mode.fault for mode in modes])
    assert table.faults == ("healthy", *ids)
    kinds = {part.kind for part in plover().parts} - {"load"}
    broken = {plover().part(name).kind for mode in modes for name in mode.fault.parts
              if name in {part.name for part in plover().parts}}  # fmt: skip
    assert broken == kinds


def test_a_table_is_what_operating_each_fault_by_itself_shows():
    network = plover()
    faults = [mode.fault for mode in fault_modes(network)][::5]
    chosen = [*faults, *pairs(faults)[::40]]
    table = fault_table(network, None, chosen)
    for name, each in zip(table.faults[1:], chosen, strict=True):
        states = operate(network, faults=[each] if isinstance(each, Fault) else each)
        for k, state in enumerate(states):
            shown = table.shows(name, state.step)
            lamps = {key: shown[key] for key in state.lamps}
            assert lamps == state.lamps
            assert (shown["plunger"], shown["pawls"], shown["rolls"], shown["stop"] or None) == (
                state.plunger,
                state.pawls,
                state.rolls,
                state.stop,
            )
            row = table.faults.index(name)
            volts = dict(zip(table.nodes, table.volts[row, k], strict=True))
            assert volts == pytest.approx({n: state.voltages[n] for n in volts}, abs=1e-9)
            assert table.chatters[row, k] == state.chatter


def test_a_table_groups_what_looks_the_same():
    table = fault_table(plover(), None, [fault("open", "F1"), fault("stuck", "key", False)])
    assert ("F1 open", "key stuck") in table.alike()
    assert table.differs("F1 open")
    assert json.dumps(table.to_dict())
