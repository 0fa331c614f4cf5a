"""Broken checks and own faults in a machine file: where, what, what is allowed, how to mend."""

from __future__ import annotations

from pathlib import Path

import pytest

import tripmargin.machine
from tests.machine.files import written
from tripmargin.circuit import network_from_machine
from tripmargin.ground.errors import MachineFileError
from tripmargin.machine import demo_machines, load_machine
from tripmargin.machine.check_sections import LOOKS

SHEET = (
    Path(tripmargin.machine.__file__).parent / "demo" / "type-trailed-mechanical.toml"
).read_text(encoding="utf-8")
"""Dunlin's type sheet: the text that the tests below break."""
STEP = '[[circuit.steps]]\nname = "key off"'
LOCKED = (
    '[[circuit.steps]]\nname = "bolted"\nswitches = { key = "on", lock = "on" }\nengine = true\n'
)


def refused(folder: Path, text: str) -> MachineFileError:
    with pytest.raises(MachineFileError) as caught:
        load_machine(written(folder, text, "knot.toml"))
    return caught.value


def changed(old: str, new: str) -> str:
    """The sheet with one place changed."""
    assert SHEET.count(old) == 1, old
    return SHEET.replace(old, new)


# what to replace, by what, field, value, problem, allowed, hint
BAD = [
    (
        'daily = "morning check"',
        'daily = "mornin check"',
        "checks.daily",
        "mornin check",
        "no such path",
        "loop check",
        "morning check",
    ),
    (
        'worked = ["key off"',
        'worked = ["key of"',
        "checks.worked",
        "key of",
        "no such operating step",
        "armed",
        "key off",
    ),
    (
        'after = "box armed", steps = ["reset, engine off"]',
        'after = "box armd", steps = ["reset, engine off"]',
        "checks.states.shift held in reverse.after",
        "box armd",
        "no such state",
        "pawls lifted",
        "box armed",
    ),
    (
        'after = "box armed", steps = ["reset, engine off"]',
        'after = "pawls lifted", steps = ["reset, engine off"]',
        "checks.states.shift held in reverse.after",
        "pawls lifted",
        "a ring",
        "a way",
        "",
    ),
    (
        'after = "box armed", steps = ["reset, engine off"]',
        'after = "box armed", steps = ["reset, engine on"]',
        "checks.states.shift held in reverse.steps",
        "reset, engine on",
        "no such operating step",
        "key on",
        "reset, engine off",
    ),
    (
        'after = "box armed", steps = ["engine running", "reverse to reset"]',
        'after = "box armed", steps = ["locked", "reverse to reset"]',
        "checks.states.rolls backwards.steps",
        "locked",
        "locks the protection out while the engine runs",
        "not locked out",
        "unprotected",
    ),
    (
        'standing = { steps = ["key off"]',
        'standing = { after = "turning again", steps = ["key off"]',
        "checks.states",
        "",
        "no state is the machine at rest",
        "without `after`",
        "at rest",
    ),
    (
        'after = "box armed", steps = ["reset, engine off"]',
        'steps = ["reset, engine off"]',
        "checks.states.shift held in reverse",
        "",
        "a second state without `after`",
        "`after` with the state",
        "",
    ),
    (
        '"pawl springs" = { kind = "pawl springs", state = "standing"',
        '"pawl springs" = { kind = "pawl springs", state = "rolls turning"',
        "checks.looks.pawl springs.state",
        "rolls turning",
        "sends hands to the machine",
        "engine is off",
        "engine off",
    ),
    (
        '"solenoid\'s plug" = { kind = "volts", state = "pawls lifted"',
        '"solenoid\'s plug" = { kind = "volts", state = "turning again"',
        "checks.looks.solenoid's plug.state",
        "turning again",
        "sends hands to the machine",
        "engine is off",
        "engine off",
    ),
    (
        'solenoid" = { kind = "ohms", state = "standing"',
        'solenoid" = { kind = "ohms", state = "pawls lifted"',
        "checks.looks.solenoid.state",
        "pawls lifted",
        "battery disconnected",
        "without `after`",
        "",
    ),
    (
        '"battery" = { kind = "volts", state = "standing", between = ["30", "0"], ',
        '"battery" = { kind = "volts", state = "standing", ',
        "checks.looks.battery",
        "volts",
        'needs "between"',
        "between",
        "",
    ),
    (
        'between = ["15t", "31"], unplugged = ["X1", "K1", "F2"], ',
        "",
        "checks.looks.wire to the box",
        "ohms",
        'needs "between"',
        "between",
        "",
    ),
    (
        'state = "standing", fuse = "F1", ',
        'state = "standing", ',
        "checks.looks.fuse F1",
        "fuse",
        'needs "fuse"',
        "fuse",
        "",
    ),
    (
        'state = "standing", fuse = "F1", ',
        'state = "standing", fuse = "K1", ',
        "checks.looks.fuse F1.fuse",
        "K1",
        "no such fuse",
        "F1, F2",
        "",
    ),
    (
        'state = "standing", relay = "K1", ',
        'state = "standing", ',
        "checks.looks.relay K1 tried",
        "relay",
        'needs "relay"',
        "relay",
        "",
    ),
    (
        'state = "standing", relay = "K1", ',
        'state = "standing", relay = "K2", ',
        "checks.looks.relay K1 tried.relay",
        "K2",
        "no such relay",
        "K1",
        "",
    ),
    (
        'piece = "12 mm ball", ',
        "",
        "checks.looks.test piece",
        "test piece",
        'needs "piece"',
        "piece",
        "",
    ),
    (
        'between = ["30", "0"], minutes = "1.5 min"',
        'between = ["30", "00"], minutes = "1.5 min"',
        "checks.looks.battery.between",
        "00",
        "no such node",
        "30f",
        "",
    ),
    (
        'unplugged = ["X1", "K1", "F2"]',
        'unplugged = ["X1", "K9", "F2"]',
        "checks.looks.wire to the box.unplugged",
        "K9",
        "no such part",
        "X2",
        "",
    ),
    (
        '"wake-up look" = { states = ["box armed"]',
        '"wake-up look" = { states = ["box unarmed"]',
        "checks.paths.wake-up look.states",
        "box unarmed",
        "no such state",
        "standing",
        "box armed",
    ),
    (
        'watch = ["supply in range", "trip latched", "relay at rest"], minutes = "1 min"',
        'watch = ["supply in rang"], minutes = "1 min"',
        "checks.paths.wake-up look.watch",
        "supply in rang",
        "no such lamp or movement",
        "rolls",
        "supply in range",
    ),
    (
        'looks = ["pawl clearance", "pawl springs"',
        'looks = ["pawl clearence", "pawl springs"',
        "checks.paths.season's proof.looks",
        "pawl clearence",
        "no such look",
        "pawl springs",
        "pawl clearance",
    ),
    (
        'T = { together_with = "S" }',
        'T = { together_with = "SS" }',
        "checks.repairs.T.together_with",
        "SS",
        "no such part",
        "solenoid ground",
        "",
    ),
    (
        'X1 = { minutes = "20 min", price = 8 }',
        'X7 = { minutes = "20 min", price = 8 }',
        "checks.repairs.X7",
        "X7",
        "no such part",
        "pawl springs",
        "",
    ),
    (
        'X1 = { minutes = "20 min", price = 8 }',
        'X1 = { minutes = "20", price = 8 }',
        "checks.repairs.X1.minutes",
        "20",
        "no unit",
        "duration",
        "",
    ),
    (
        'X1 = { minutes = "20 min", price = 8 }',
        'X1 = { minutes = "-1 min", price = 8 }',
        "checks.repairs.X1.minutes",
        "-1 min",
        "too small",
        "duration",
        "",
    ),
    (
        'kind = "linkage", state = "standing", minutes = "2 min"',
        'kind = "linkage", state = "standing", minutes = "30 h"',
        "checks.looks.linkage.minutes",
        "30 h",
        "too large",
        "duration",
        "",
    ),
    (
        'plunger = { kind = "plunger"',
        'plunger = { kind = "plungers"',
        "checks.looks.plunger.kind",
        "plungers",
        "not allowed",
        "stop time",
        "plunger",
    ),
    (
        'kind = "linkage", state = "standing", minutes = "2 min"',
        'kind = "linkage", minutes = "2 min"',
        "checks.looks.linkage.state",
        "",
        "missing",
        "",
        "",
    ),
    (
        'between = ["K1.86", "D.H"], resistance',
        'between = ["K1.68", "D.H"], resistance',
        "circuit.faults.W7:touches lamp lead.between",
        "K1.68",
        "no such node",
        "D.H",
        "K1.87",
    ),
    (
        '"W7 chafed against W3: the relay is fed without the module", parts = ["W7"]',
        '"W7 chafed against W3: the relay is fed without the module", parts = ["W77"]',
        "circuit.faults.W7:touches W3.parts",
        "W77",
        "no such part",
        "W6",
        "W7",
    ),
    (
        '"W7 chafed against W3: the relay is fed without the module", parts = ["W7"]',
        '"W7 chafed against W3: the relay is fed without the module"',
        "circuit.faults.W7:touches W3.parts",
        "",
        "needs the part that is mended",
        'parts = ["W8"]',
        "wire",
    ),
    (
        'between = ["K1.86", "D.H"], resistance',
        'between = ["K1.86"], resistance',
        "circuit.faults.W7:touches lamp lead.between",
        "K1.86",
        "not connected",
        "two nodes",
        "",
    ),
]


@pytest.mark.parametrize(
    ("old", "new", "field", "value", "problem", "allowed", "hint"),
    BAD,
    ids=[f"{number}: {each[2]}" for number, each in enumerate(BAD)],
)
def test_a_wrong_check_is_named_with_its_line_and_what_is_allowed(
    tmp_path: Path,
    old: str,
    new: str,
    field: str,
    value: str,
    problem: str,
    allowed: str,
    hint: str,
) -> None:
    text = changed(old, new)
    error = refused(tmp_path, text)
    found = next(each for each in error.problems if each.field == field)
    assert found.file == "knot.toml"
    assert found.line is not None
    assert 1 <= found.line <= len(text.splitlines())
    assert value in str(found.value)
    assert problem in found.problem
    assert allowed in found.allowed
    assert hint in found.hint
    assert found.field in str(error)


def test_a_wrong_state_is_shown_on_the_line_that_it_stands_on(tmp_path: Path) -> None:
    text = changed('state = "standing", fuse = "F1"', 'state = "standig", fuse = "F1"')
    error = refused(tmp_path, text)
    lines = text.splitlines()
    assert error.line is not None
    assert '"standig"' in lines[error.line - 1]
    assert error.value == '"standig"'
    assert 'Did you mean "standing"?' in error.hint


def test_checks_without_a_wiring_are_refused(tmp_path: Path) -> None:
    start, end = SHEET.index("[circuit]"), SHEET.index("[checks]")
    error = refused(tmp_path, SHEET[:start] + SHEET[end:])
    assert error.field == "checks"
    assert "no wiring" in error.problems[0].problem
    assert "[circuit]" in error.allowed
    assert error.hint == "Describe the wiring first."


def test_a_fault_of_its_own_without_its_two_nodes_is_refused(tmp_path: Path) -> None:
    error = refused(tmp_path, changed(' between = ["K1.86", "D.15"], text', " text"))
    assert error.field == "circuit.faults.W7:touches W3.between"
    assert "needs the two nodes" in error.problems[0].problem
    assert "between = [" in error.allowed
    assert "leave text and parts out" in error.hint


def test_a_rate_of_a_fault_that_no_part_has_is_refused(tmp_path: Path) -> None:
    rate = '"W7:opened" = { rate = 1, source = "invented: a slip of the pen" }\n'
    text = changed('"W7:touches W3" =', f'{rate}"W7:touches W3" =')
    machine = load_machine(written(tmp_path, text))
    with pytest.raises(MachineFileError, match="no such fault") as caught:
        network_from_machine(machine)
    error = caught.value
    assert error.line is not None
    assert "W7:opened" in text.splitlines()[error.line - 1]
    assert "F1:open" in error.allowed
    assert "W7:open" in error.hint


def test_a_state_may_lock_the_protection_out_only_while_the_engine_is_off(tmp_path: Path) -> None:
    state = '"bolt in" = { after = "box armed", steps = ["bolted"] }\n'
    text = changed("[checks.looks]", f"{state}[checks.looks]").replace(STEP, LOCKED + STEP)
    error = refused(tmp_path, text)
    assert error.field == "checks.states.bolt in.steps"
    still = text.replace(LOCKED, LOCKED.replace("engine = true", "engine = false"))
    assert load_machine(written(tmp_path, still)).checks is not None


def test_what_is_left_out_gets_its_usual_value(tmp_path: Path) -> None:
    text = changed("price_of_an_hour = 90\n", "").replace(
        'kind = "linkage", state = "standing", minutes = "2 min"',
        'kind = "linkage", state = "standing"',
    )
    text = text.replace(
        '"box armed" = { after = "tractor\'s key on", steps = ["armed"], minutes = "0.2 min",'
        ' back = "0.5 min",',
        '"box armed" = { after = "tractor\'s key on", steps = ["armed"],',
    )
    checks = load_machine(written(tmp_path, text)).checks
    assert checks is not None
    assert checks.price_of_an_hour.nominal == 100
    assert checks.wrong.nominal == pytest.approx(0.03)
    assert checks.cannot_tell.nominal == pytest.approx(0.03)
    assert checks.unnoticed.nominal == 20 * 3600
    assert checks.look.nominal == pytest.approx(12)
    assert checks.measure.nominal == 120
    assert next(x for x in checks.looks if x.name == "linkage").minutes.nominal == 60
    armed = next(x for x in checks.states if x.name == "box armed")
    assert (armed.minutes.nominal, armed.back.nominal) == (30, 60)
    assert next(x for x in checks.repairs if x.name == "T").minutes is None


@pytest.mark.parametrize("name", demo_machines())
def test_every_demo_machine_has_states_looks_and_paths_of_its_own(name: str) -> None:
    checks = load_machine(name).checks
    assert checks is not None
    assert {look.kind for look in checks.looks} == set(LOOKS)
    assert all(path.proves and path.leaves_open for path in checks.paths)
    assert len(checks.paths) >= 5
    others = [load_machine(other).checks for other in demo_machines() if other != name]
    daily = {other.daily for other in others if other is not None}
    assert checks.daily not in daily


@pytest.mark.parametrize("name", demo_machines())
def test_no_demo_machine_sends_hands_near_running_rolls_nor_runs_them_unprotected(
    name: str,
) -> None:
    machine = load_machine(name)
    checks, circuit = machine.checks, machine.circuit
    assert checks is not None
    assert circuit is not None
    running = {step.name for step in circuit.steps if step.engine}
    locked = {
        step.name for step in circuit.steps if dict(step.switches).get(circuit.lock, "off") == "on"
    }
    ways: dict[str, set[str]] = {}
    for state in checks.states:  # each state is listed after the one that it is reached from
        ways[state.name] = {*state.steps, *(ways[state.after] if state.after else ())}
        assert not (ways[state.name] & locked and ways[state.name] & running)
    assert not locked & set(checks.worked)
    from_afar = {"test piece", "empty run", "stop time"}
    for look in checks.looks:
        assert look.kind in from_afar or not ways[look.state] & running
