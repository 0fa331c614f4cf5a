"""The wiring in a machine file: the demo machines' walks, and what is wrong with a file."""

from __future__ import annotations

import tomllib

import pytest

from tests.machine.files import plover_path, written
from tripmargin.circuit import (
    CircuitError,
    Fuse,
    Step,
    fault_modes,
    fault_table,
    network_from_machine,
    operate,
)
from tripmargin.ground.errors import MachineFileError, NotKnownError
from tripmargin.machine import demo_machines, load_machine
from tripmargin.machine.loading import demo_path

SMALL = """\
[machine]
name = "Knot"
[detector]
supply_minimum = "10 V"
[sensor]
coil_resistance = "2 kohm"
[chain.hold_winding]
resistance = "17 ohm"
release_current = "0.3 A"
suppression = { kind = "zener", voltage = "24 V" }
[circuit.parts]
battery = { kind = "battery", between = ["30", "0"], inside = "15 mohm" }
F1 = { kind = "fuse", between = ["30", "30f"], rating = "20 A" }
key = { kind = "switch", between = ["30f", "15"] }
W1 = { kind = "wire", between = ["15", "15b"], length = "4 m", section = "2.5 mm2" }
frame = { kind = "ground", between = ["31", "0"] }
S = { kind = "sensor", between = ["D.S", "31"] }
reset = { kind = "switch", between = ["15b", "D.R"], switch = "shift", closed_in = ["reverse"] }
lock = { kind = "switch", between = ["15b", "D.X"] }
live = { kind = "led", between = ["K1.86", "31"], proves = "the trip output is live" }
glow = { kind = "lamp", between = ["15b", "31"], power = "2 W", proves = "the wiring is live" }
[circuit.parts.D]
kind = "detector"
at = { 15 = "15b", 31 = "31", reset = "D.R", lock = "D.X", sensor = "D.S", trip_out = "K1.86" }
[circuit.parts.K1]
kind = "relay"
at = { 86 = "K1.86", 85 = "31", 30 = "15b", 87 = "Y.87" }
[circuit.parts.Y]
kind = "solenoid"
at = { hold = "Y.87", 31 = "31" }
pull = "0.8 ohm"
pulls_from = "8 A"
[[circuit.steps]]
name = "key off"
[[circuit.steps]]
name = "armed"
switches = { key = "on", shift = "neutral" }
[[circuit.steps]]
name = "reverse to reset"
switches = { key = "on", shift = "reverse" }
voltage = "13.8 V"
engine = true
[circuit.test_points]
TP1 = { node = "Y.87", place = "plug of the solenoid" }
[circuit.faults]
"F1:open" = { rate = 0.5, source = "our own count" }
"""


def small(tmp_path, *changes, name="knot.toml"):
    text = SMALL
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return load_machine(written(tmp_path, text, name))


def refused(tmp_path, *changes):
    """The error, from reading the file or from making its network, and the changed file's lines."""
    with pytest.raises(MachineFileError) as caught:
        network_from_machine(small(tmp_path, *changes))
    return caught.value, (tmp_path / "knot.toml").read_text().splitlines()


# ------------------------------------------------------------------ the demo machines' walks

# step: tripped, plunger, pawls, rolls, how the stop went; the same on every machine
WALK = {
    "key off": (True, "dropped", "in", "stopped", None),
    "key on": (True, "dropped", "in", "stopped", None),
    "armed": (True, "dropped", "in", "stopped", None),
    "engine running": (True, "dropped", "in", "stopped", None),
    "reverse to reset": (False, "pulled", "out", "reverse", None),
    "neutral": (False, "held", "out", "stopped", None),
    "forward": (False, "held", "out", "forward", None),
    "running": (False, "held", "out", "forward", None),
    "metal": (True, "dropped", "in", "stopped", "in time"),
    "tripped": (True, "dropped", "in", "stopped", None),
    "forward, not reset": (True, "dropped", "in", "stopped", None),
    "reset after metal": (False, "pulled", "out", "reverse", None),
    "check pressed": (True, "dropped", "in", "stopped", "in time"),
    "check let go": (True, "dropped", "in", "stopped", None),
    "reset after check": (False, "pulled", "out", "reverse", None),
    "locked": (True, "dropped", "out", "stopped", None),
    "locked, reverse": (True, "dropped", "out", "reverse", None),
    "locked, forward": (True, "dropped", "out", "forward", None),
    "lock off": (True, "dropped", "in", "stopped", None),
    "forward after lock, not reset": (True, "dropped", "in", "stopped", None),
    "reset after lock": (False, "pulled", "out", "reverse", None),
    "battery at 9 V": (True, "dropped", "in", "stopped", "in time"),
    "battery back": (True, "dropped", "in", "stopped", None),
    "reset after weak battery": (False, "pulled", "out", "reverse", None),
}

# what burns or sounds: a lamp that is not named here is off
BURNING = {
    "dunlin": {
        "key off": set(),
        "key on": {"relay at rest"},
        "armed": {"supply in range", "trip latched", "relay at rest"},
        "reverse to reset": {"supply in range", "hold powered"},
        "running": {"supply in range", "hold powered"},
        "metal": {"supply in range", "trip latched", "relay at rest"},
        "check pressed": {"supply in range", "trip latched", "relay at rest"},
        "locked, forward": {"supply in range", "trip latched", "relay at rest"},
        "battery at 9 V": {"trip latched", "relay at rest"},
    },
    "curlew": {
        "key off": set(),
        "key on": set(),
        "armed": {"trip latched"},
        "lamps tried": {"trip latched", "supply low"},
        "reverse to reset": {"trip output live", "hold powered"},
        "running": {"trip output live", "hold powered", "forward clutch fed"},
        "metal": {"trip latched"},
        "check pressed": {"trip latched"},
        "locked, forward": {"trip latched", "forward clutch fed"},
        "battery at 9 V": {"trip latched", "supply low"},
    },
    "whimbrel": {
        "key off": set(),
        "key on": {"relay at rest"},
        "armed": {"supply in range", "trip latched", "relay at rest"},
        "lamps tried": {"supply in range", "supply low", "trip latched", "relay at rest"},
        "reverse to reset": {"supply in range", "hold powered"},
        "running": {"supply in range", "hold powered"},
        "metal": {"supply in range", "trip latched", "relay at rest"},
        "check pressed": {"supply in range", "trip latched", "relay at rest"},
        "locked, forward": {"supply in range", "trip latched", "relay at rest"},
        "battery at 9 V": {"supply low", "trip latched", "relay at rest"},
    },
    "sanderling": {
        "key off": set(),
        "key on": set(),
        "armed": {"trip latched"},
        "reverse to reset": {"feed free", "reset heard"},
        "running": {"feed free"},
        "metal": {"trip latched"},
        "check pressed": {"trip latched"},
        "locked, reverse": {"trip latched", "unprotected", "reset heard"},
        "locked, forward": {"trip latched", "unprotected"},
        "battery at 9 V": {"trip latched"},
    },
}


@pytest.fixture(scope="module")
def walks():
    return {name: operate(load_machine(name)) for name in demo_machines()}


@pytest.mark.parametrize("name", demo_machines())
def test_a_healthy_demo_machine_moves_as_its_steps_should_show(walks, name):
    states = walks[name]
    for step, expected in WALK.items():
        state = states[step]
        found = (state.tripped, state.plunger_word, state.pawls, state.rolls, state.stop)
        assert found == expected, step


@pytest.mark.parametrize("name", demo_machines())
def test_a_healthy_demo_machine_shows_the_lamps_that_it_should(walks, name):
    states = walks[name]
    for step, burning in BURNING[name].items():
        assert {k for k, word in states[step].lamps.items() if word == "on"} == burning, step
    for state in states:
        assert set(state.lamps.values()) <= {"on", "off"}, state.step
        for odd in (state.chatter, state.fuses_blown, state.momentary_trip):
            assert not odd, state.step


def test_a_locked_feed_runs_unprotected_and_is_never_reset_by_itself(walks):
    for name, states in walks.items():
        steps = [state.step for state in states]
        locked = steps[steps.index("locked") : steps.index("reset after lock")]
        assert {"locked, reverse", "locked, forward", "lock off"} <= set(locked)
        assert all(states[step].tripped for step in locked), name
        assert states["locked, forward"].rolls == "forward"


def test_no_two_demo_machines_have_the_same_indicators_places_or_colours():
    signs = {}
    for name in demo_machines():
        parts = load_machine(name).circuit.parts
        signs[name] = {(p.name, p.place, p.colour) for p in parts if getattr(p, "proves", None)}
        assert 4 <= len(signs[name]) <= 8
        assert all(p.place for p in parts if getattr(p, "proves", None))
    for name, own in signs.items():
        for other, theirs in signs.items():
            assert other == name or not own & theirs
    assert len({frozenset(n for n, _, _ in own) for own in signs.values()}) == len(signs)


@pytest.mark.parametrize("name", demo_machines())
def test_a_demo_machines_check_button_has_a_name_of_its_own(name):
    detector = network_from_machine(load_machine(name)).detector
    others = [
        network_from_machine(load_machine(other)).detector.check.button
        for other in demo_machines()
        if other != name
    ]
    assert detector.check.button not in others


@pytest.mark.parametrize("name", demo_machines())
def test_a_demo_machine_takes_from_the_chain_what_its_parts_leave_out(name):
    machine = load_machine(name)
    network = network_from_machine(machine)
    hold = machine.chain.hold_winding
    assert network.part("Y.hold").ohm == hold.resistance.nominal
    assert network.mechanism.hold_min == hold.release_current.nominal
    assert network.detector.falls_at == machine.detector.supply_minimum.nominal
    assert network.part("S").ohm == machine.sensor.coil_resistance.nominal


def test_a_what_if_on_the_chain_reaches_the_circuit():
    machine = load_machine("curlew").with_settings({"chain.hold_winding.resistance": 40.0})
    assert network_from_machine(machine).part("Y.hold").ohm == 40.0
    assert operate(machine)["running"].plunger_word == "dropped"  # 13.7 V / 40 ohm: below 0.47 A


def test_a_what_if_may_change_the_wiring_by_its_path():
    machine = load_machine("curlew").with_settings({"circuit.parts.frame.resistance": 0.5})
    assert network_from_machine(machine).part("frame").ohm == 0.5
    assert machine.changed == ("circuit.parts.frame.resistance",)
    with_zener = machine.with_settings({"suppression": {"kind": "zener", "voltage": 24.0}})
    assert with_zener.chain.hold_winding.suppression.kind == "zener"


# ----------------------------------------------------------------------- what a file may say


def test_a_small_circuit_works_from_its_file_alone(tmp_path):
    states = operate(small(tmp_path))
    assert [state.tripped for state in states] == [True, True, False]
    assert states["reverse to reset"].plunger_word == "pulled"
    assert states["armed"].lamps == {"live": "off", "glow": "on"}


def test_steps_are_chosen_by_name_or_made_up(tmp_path):
    machine = small(tmp_path)
    own = Step("flat", {"key": "on"}, volts=5.0)
    assert [state.step for state in operate(machine, ["armed", own])] == ["armed", "flat"]
    with pytest.raises(CircuitError, match='Did you mean "armed"'):
        operate(machine, ["armd"])


def test_what_a_part_leaves_out_is_usual_or_known_from_elsewhere(tmp_path):
    network = network_from_machine(small(tmp_path))
    assert network.part("F1") == Fuse("F1", "30", "30f", 0.075 / 20, 20.0)
    assert network.part("W1").ohm == pytest.approx(4 * 7.98e-3)
    assert network.part("glow").ohm == pytest.approx(72.0)  # 12 V, 2 W
    assert network.part("Y.suppression").forward == 24.0
    assert network.detector.falls_at == 10.0
    assert network.detector.rises_at == pytest.approx(10.4)
    assert network.mechanism.hold_min == 0.3
    assert network.steps[0].volts == 12.6  # the battery's own
    assert network.proves["live"] == "the trip output is live"


def test_a_machines_own_rate_takes_the_place_of_the_invented_one(tmp_path):
    modes = {mode.fault.id: mode for mode in fault_modes(network_from_machine(small(tmp_path)))}
    assert (modes["F1:open"].rate, modes["F1:open"].source) == (0.5, "our own count")
    assert modes["W1:open"].source == "invented"


def test_a_fault_table_is_made_of_a_machine_too(tmp_path):
    machine = small(tmp_path)
    faults = [mode.fault for mode in fault_modes(network_from_machine(machine))]
    assert "glow:open" not in fault_table(machine, None, faults).silent()


def test_a_file_overrides_its_type_sheets_wiring_key_by_key(tmp_path):
    written(tmp_path, SMALL, "type.toml")
    over = """\
extends = "type.toml"
[circuit.parts]
W1 = { length = "2 m" }
F9 = { kind = "fuse", between = ["15b", "15c"], rating = "5 A" }
more = { kind = "load", between = ["15c", "31"], resistance = "50 ohm" }
[[circuit.steps]]
name = "armed"
voltage = "11 V"
"""
    network = network_from_machine(load_machine(written(tmp_path, over)))
    assert network.part("W1").ohm == pytest.approx(2 * 7.98e-3)
    assert network.part("F9").rating == 5.0
    assert network.steps[1].volts == 11.0
    assert network.steps[1].position("key") == "on"


def test_a_machine_without_a_circuit_says_what_is_needed():
    with pytest.raises(NotKnownError) as caught:
        operate(load_machine(plover_path()))
    assert caught.value.answer == "the circuit"
    assert caught.value.needs == ("circuit",)


def test_a_value_that_stands_nowhere_is_named(tmp_path):
    machine = small(tmp_path, ('coil_resistance = "2 kohm"\n', ""))
    with pytest.raises(NotKnownError, match=r"the circuit needs sensor\.coil_resistance"):
        network_from_machine(machine)


# --------------------------------------------------------------------------- what is wrong

BAD = [
    # a terminal left open, three ways
    ('["15", "15b"], length', '["15"], length', "circuit.parts.W1.between", "not connected", ""),
    ('["15", "15b"], length', '["15", ""], length', "circuit.parts.W1.between.1",
     "not connected", ""),
    ('86 = "K1.86", 85 = "31"', '86 = "K1.86"', "circuit.parts.K1.at.85", "not connected",
     "beside the pin"),
    # a terminal that the housing does not have
    ('87 = "Y.87" }', '87b = "Y.87" }', "circuit.parts.K1.at.87b", "no such terminal", '"87"'),
    ('trip_out = "K1.86"', 'trip_ouy = "K1.86"', "circuit.parts.D.at.trip_ouy",
     "no such terminal", '"trip_out"'),
    # a loop of ideal sources
    ('F1 = {', 'b2 = { kind = "battery", between = ["30", "0"] }\nF1 = {', "", "", ""),
    # a wire to nowhere
    ('W1 = {', 'W9 = { kind = "wire", between = ["15", "15x"], resistance = "1 ohm" }\nW1 = {',
     "circuit.parts.W9", "goes nowhere", "spelt in two ways"),
    # steps
    ('key = "on", shift = "neutral"', 'kay = "on"', "circuit.steps.armed.switches",
     "no such switch", '"key"'),
    ('shift = "reverse" }', 'shift = "reverce" }', "circuit.steps.reverse to reset.switches.shift",
     "knows such a position", '"reverse"'),
    ('name = "key off"', 'name = "armed"', "circuit.steps.armed", "2 steps have this name", ""),
    # values and units
    ('length = "4 m"', 'length = "4 V"', "circuit.parts.W1.length", "unit of voltage", ""),
    ('"2.5 mm2"', '"2.5 mm"', "circuit.parts.W1.section", "unit of length", "mm2"),
    ('rating = "20 A"', "rating = 20", "circuit.parts.F1.rating", "no unit", ""),
    ('section = "2.5 mm2"', 'section = "2.7 mm2"', "circuit.parts.W1", "no such wire",
     "resistance"),
    (', section = "2.5 mm2"', "", "circuit.parts.W1", "needs its length and section", ""),
    ('"4 m", section', '"4 m", resistance = "1 ohm", section', "circuit.parts.W1", "has both", ""),
    ('power = "2 W"', 'power = "2 V"', "circuit.parts.glow.power", "unit of voltage", ""),
    ("engine = true", 'engine = "yes"', "circuit.steps.reverse to reset.engine", "not allowed",
     ""),
    # words
    ('kind = "fuse"', 'kind = "fuze"', "circuit.parts.F1.kind", "no such kind of part", '"fuse"'),
    ('kind = "fuse", ', "", "circuit.parts.F1.kind", "missing", ""),
    ("rating =", "ratign =", "circuit.parts.F1.ratign", "unknown key", '"rating"'),
    ("F1 = {", '"F.1" = {', "circuit.parts.F.1", "hold a point", ""),
    ('proves = "the wiring is live"', 'colour = "blue"', "circuit.parts.glow.proves", "missing",
     ""),
    ("[circuit.test_points]", '[circuit.test_point]', "circuit.test_point", "unknown key",
     "test_points"),
    # what must be there once
    ("S = {", 'Y2 = { kind = "solenoid", at = { hold = "a", 31 = "31" }, pull = "1 ohm",'
     ' pulls_from = "9 A" }\nS = {', "circuit.parts.Y", "a second solenoid", ""),
    # test points and rates
    ('node = "Y.87"', 'node = "Y.78"', "circuit.test_points.TP1.node", "no such node", "Y.87"),
    ('"F1:open" =', '"F1:opened" =', "circuit.faults.F1:opened", "no such fault", "F1:open"),
    # inputs
    ('[circuit.parts.K1]', 'reset = { above = "6 V", below = "2 V" }\n[circuit.parts.K1]',
     "circuit.parts.D.reset", "above a voltage or below one", ""),
    ('[circuit.parts.K1]', 'suply = {}\n[circuit.parts.K1]', "circuit.parts.D.suply",
     "unknown key", '"supply"'),
    ('pull = "0.8 ohm"', 'pull = "0.8 ohm"\nsuppression = { kind = "resistor" }',
     "circuit.parts.Y.suppression", "needs its resistance", ""),
    ('["reverse"] }', '["reverse"], open_in = ["forward"] }', "circuit.parts.reset.open_in",
     "not both", ""),
]  # fmt: skip


@pytest.mark.parametrize(
    ("old", "new", "field", "says", "hint"),
    [row for row in BAD if row[2]],
    ids=[f"{row[2]}: {row[3]}" for row in BAD if row[2]],
)
def test_what_is_wrong_is_told_with_its_line_and_its_mending(tmp_path, old, new, field, says, hint):
    error, lines = refused(tmp_path, (old, new))
    assert error.field == field
    assert says in str(error)
    assert hint in str(error)
    assert error.file == "knot.toml"
    stands = lines[error.line - 1]
    told = [line for line in new.split("\n") if line] or ["nothing"]
    told += [f"{name} = {{" for name in field.split(".")[2:3]]
    told += [f"[{'.'.join(field.split('.')[:3])}]"]
    if field == "circuit.steps.armed":
        stands = lines[error.line]  # a table's line is its head, the name stands below
    assert any(part in stands for part in told), stands


def test_two_parts_of_one_name_are_refused_with_the_line_of_the_second(tmp_path):
    again = 'F1 = { kind = "fuse", between = ["15b", "15c"], rating = "5 A" }'
    error, lines = refused(tmp_path, ("[circuit.parts.D]", again + "\n[circuit.parts.D]"))
    assert "F1" in str(error)
    assert error.line == lines.index(again) + 1


def test_a_loop_of_ideal_sources_is_named_with_its_line(tmp_path):
    second = 'b2 = { kind = "battery", between = ["30", "0"] }'
    error, lines = refused(tmp_path, (', inside = "15 mohm"', ""), ("F1 = {", second + "\nF1 = {"))
    assert "ideal sources form a loop" in str(error)
    assert "Give each battery its inner resistance" in str(error)
    assert error.line == lines.index(second) + 1


def test_a_part_that_hangs_in_the_air_is_named_with_its_line(tmp_path):
    loose = 'R = { kind = "resistor", between = ["u", "v"], resistance = "1 ohm" }'
    error, lines = refused(tmp_path, ("S = {", loose + "\nS = {"))
    assert "nothing connects this" in str(error)
    assert error.line == lines.index(loose) + 1


def test_all_problems_of_a_file_are_told_at_once(tmp_path):
    error, _ = refused(tmp_path, ('"20 A"', '"20"'), ('kind = "led"', 'kind = "lde"'))
    assert {problem.field for problem in error.problems} == {
        "circuit.parts.F1.rating",
        "circuit.parts.live.kind",
    }


@pytest.mark.parametrize("value", ["3", '"text"', "[1]", "{ a = 1 }"])
def test_anything_in_place_of_the_parts_is_refused(tmp_path, value):
    with pytest.raises(MachineFileError):
        load_machine(written(tmp_path, f"[circuit]\nparts = {value}\n"))


def test_the_schema_takes_the_small_file_and_refuses_what_loading_refuses(tmp_path):
    import jsonschema

    from tripmargin.machine import json_schema

    check = jsonschema.Draft202012Validator(json_schema())
    assert not list(check.iter_errors(tomllib.loads(SMALL)))
    beyond = ("W9", "b2", "Y2", "kay", "reverce", "Y.78", "opened", "2.7 mm2", "above", "open_in")
    for old, new, field, *_ in BAD:
        skips = any(word in new for word in beyond) or "needs" in _[0] or "both" in _[0]
        if field and not skips and 'name = "armed"' not in new and '"F.1"' not in new:
            tables = tomllib.loads(SMALL.replace(old, new))
            assert list(check.iter_errors(tables)), new


def test_demo_circuits_stand_in_the_type_sheets():
    for path in demo_path("curlew").parent.glob("type-*.toml"):
        assert "circuit" in tomllib.loads(path.read_text(encoding="utf-8"))
