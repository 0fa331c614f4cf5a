"""An invented machine's circuit, built of devices as a person would name them."""

from tripmargin.circuit import (
    Buzzer,
    BySwitch,
    CheckWinding,
    Clutch,
    Contact,
    Detector,
    DetectorUnit,
    Diode,
    Fuse,
    GroundJoint,
    Input,
    Lamp,
    Led,
    Mechanism,
    RelayUnit,
    Resistor,
    SensorInput,
    Solenoid,
    Source,
    Step,
    Winding,
    Wire,
    network_of,
)

MM2 = 1e-6


def switch(name, p, n, which, *positions):
    return Contact(name, p, n, 0.01, BySwitch(which, frozenset(positions or ("on",))))


def wire(name, p, n, length, section):
    return Wire.of(name, p, n, length=length, section=section * MM2)


def module():
    watches = Detector(
        supply=("D.15", "D.31"),
        rises_at=10.0,
        falls_at=9.6,
        reset=Input("D.R", 6.0, on_edge=True),
        lock=Input("D.X", 6.0),
        sensor=SensorInput("D.S", 0.05, 3.0, monitored=True),
        check=CheckWinding("T", 0.01, "check"),
    )
    at = {"15": "D.15", "31": "D.31", "T": "D.T", "R": "D.R", "X": "D.X", "S": "D.S", "L": "D.L"}
    return DetectorUnit(
        "D",
        at,
        watches,
        load_ohm=240.0,
        outputs={"T": ("out", 0.8), "L": ("l_trip", 5.0)},
        inputs={"R": (4700.0, "31"), "X": (4700.0, "31"), "S": (18000.0, "15")},
    )


def supply():
    return (
        Source("battery", "B", "0", 12.6, follows=True),
        Resistor("battery inside", "B", "30", 0.015),
        Fuse("F1", "30", "30f", 0.0034, 20.0),
        switch("key", "30f", "15", "key"),
        wire("W1", "15", "15b", 4.0, 4.0),
        Fuse("F2", "15b", "15e", 0.0167, 5.0),
        switch("arm", "15e", "15a", "arm"),
        wire("W2", "15a", "D.15", 2.0, 0.75),
        wire("W3", "D.31", "31", 2.0, 0.75),
        GroundJoint("frame", "31", "0", 0.01),
    )


def sensor():
    return (
        wire("W4", "D.S", "S.1", 4.0, 0.5),
        Winding("S", "S.1", "S.2", 480.0),
        wire("W5", "S.2", "D.31", 4.0, 0.5),
        switch("check", "15a", "S.c", "check"),
        Resistor("check resistor", "S.c", "S.T", 180.0),
        Winding("T", "S.T", "31", 28.0),
    )


def feed():
    return (
        wire("W6", "D.T", "K1.86", 2.0, 0.75),
        RelayUnit(
            "K1",
            {"86": "K1.86", "85": "31", "30": "15b", "87": "K1.87", "87a": "K1.87a"},
            suppression="diode",
        ),
        wire("W7", "K1.87", "Y.87", 2.5, 2.5),
        Solenoid("Y", {"hold": "Y.87", "31": "Y.31"}, 16.0, 0.8, suppression="diode"),
        GroundJoint("solenoid ground", "Y.31", "31", 0.01),
        switch("forward", "K1.87", "C.15", "shift", "forward"),
        Clutch("C", {"15": "C.15", "31": "31"}, 3.2),
        switch("reverse", "15b", "CR.15", "shift", "reverse"),
        Clutch("CR", {"15": "CR.15", "31": "31"}, 3.3),
        switch("reset", "15a", "D.R", "shift", "reverse"),
        switch("lock", "15a", "D.X", "lock"),
    )


def lamps():
    return (
        Lamp("tripped", "D.L", "31", 48.0),
        Led("trip path live", "K1.86", "31"),
        Led("hold powered", "Y.87", "31"),
        Led("reset heard", "D.R", "31"),
        Buzzer("buzzer", "K1.87a", "31", 150.0),
        switch("lamp check", "15a", "LC", "lamp check"),
        Diode("V1", "LC", "D.L"),
        Diode("V2", "LC", "K1.87a"),
    )


def step(name, volts=13.8, metal=False, **switches):
    standing = {"key": "on", "arm": "on", "shift": "neutral"} | switches
    standing = {key.replace("_", " "): value for key, value in standing.items()}
    return Step(name, standing, volts, engine=volts > 13.0 or volts < 11.0, metal=metal)


def day():
    """A day's work and its checks."""
    again = [
        step("reverse to reset", shift="reverse"),
        step("forward", shift="forward"),
    ]
    named = [
        step("key off", 12.6, key="off", arm="off"),
        step("key on", 12.6, arm="off"),
        step("armed", 12.6),
        step("lamps tried", 12.6, lamp_check="on"),
        step("engine running"),
        *again,
        step("running", 14.0, shift="forward"),
        step("metal", 14.0, True, shift="forward"),
        step("tripped"),
        *again,
        step("check pressed", shift="forward", check="on"),
        step("check let go", shift="forward"),
        *again,
        step("supply dips", 9.5, shift="forward"),
        step("supply back", shift="forward"),
        *again,
        step("neutral"),
        step("locked", lock="on"),
        step("locked, reverse", lock="on", shift="reverse"),
        step("locked, forward", lock="on", shift="forward"),
        step("lock off"),
        step("forward, not reset", shift="forward"),
        *again,
    ]
    counts: dict[str, int] = {}
    steps = []
    for each in named:
        counts[each.name] = count = counts.get(each.name, 0) + 1
        name = each.name if count == 1 else f"{each.name} {count}"
        steps.append(Step(name, each.switches, each.volts, each.engine, each.metal))
    return tuple(steps)


def plover(**mechanism):
    """The machine; keyword arguments change its mechanism."""
    moves = {
        "hold": "Y.hold",
        "pull": "Y.pull",
        "hold_min": 0.4,
        "pull_min": 8.0,
        "forward": "C.winding",
        "reverse": "CR.winding",
        "clutch_min": 2.5,
    } | mechanism
    return network_of(
        (*supply(), module(), *sensor(), *feed(), *lamps()),
        mechanism=Mechanism(**moves),
        steps=day(),
    )
