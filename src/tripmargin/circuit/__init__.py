"""The circuit: what every lamp, meter and movement should show, healthy or faulty."""

from tripmargin.circuit.behaviours import (
    BEHAVIOURS,
    LOCK_HOLDS,
    MOVEMENTS,
    CheckWinding,
    Detector,
    Input,
    Mechanism,
    Relay,
    SensorInput,
)
from tripmargin.circuit.devices import (
    Clutch,
    DetectorUnit,
    Device,
    RelayUnit,
    Solenoid,
    network_of,
)
from tripmargin.circuit.errors import CircuitError, NoSolutionError
from tripmargin.circuit.fault_modes import FaultMode, fault_modes
from tripmargin.circuit.fault_table import HEALTHY, FaultTable, Metered, fault_table, fault_tables
from tripmargin.circuit.faults import Change, Fault, pairs, with_fault, with_faults
from tripmargin.circuit.from_machine import network_from_machine
from tripmargin.circuit.indicators import HEARD, LIGHTS, STOPS
from tripmargin.circuit.meters import nodes_measured, resistance, with_meters
from tripmargin.circuit.moves import MODULE_OUTPUTS, ByModule, ByPlunger, ByRelay, BySwitch
from tripmargin.circuit.network import Network
from tripmargin.circuit.neutral import network_from_neutral, part_from_neutral, step_from_neutral
from tripmargin.circuit.neutral_faults import fault_from_neutral
from tripmargin.circuit.operating import operate
from tripmargin.circuit.parts import (
    GROUND,
    OPEN_OHM,
    Buzzer,
    Connector,
    Contact,
    Diode,
    Failed,
    Fuse,
    GroundJoint,
    Lamp,
    Led,
    Load,
    Part,
    RelayCoil,
    Resistive,
    Resistor,
    Source,
    Suppression,
    Winding,
    Wire,
)
from tripmargin.circuit.rules import FUSE_HOLDS
from tripmargin.circuit.solving import Solution, solve
from tripmargin.circuit.states import Moment, State, States
from tripmargin.circuit.steps import Step
from tripmargin.circuit.wires import wire_resistance

__all__ = [
    "BEHAVIOURS",
    "FUSE_HOLDS",
    "GROUND",
    "HEALTHY",
    "HEARD",
    "LIGHTS",
    "LOCK_HOLDS",
    "MODULE_OUTPUTS",
    "MOVEMENTS",
    "OPEN_OHM",
    "STOPS",
    "Buzzer",
    "ByModule",
    "ByPlunger",
    "ByRelay",
    "BySwitch",
    "Change",
    "CheckWinding",
    "CircuitError",
    "Clutch",
    "Connector",
    "Contact",
    "Detector",
    "DetectorUnit",
    "Device",
    "Diode",
    "Failed",
    "Fault",
    "FaultMode",
    "FaultTable",
    "Fuse",
    "GroundJoint",
    "Input",
    "Lamp",
    "Led",
    "Load",
    "Mechanism",
    "Metered",
    "Moment",
    "Network",
    "NoSolutionError",
    "Part",
    "Relay",
    "RelayCoil",
    "RelayUnit",
    "Resistive",
    "Resistor",
    "SensorInput",
    "Solenoid",
    "Solution",
    "Source",
    "State",
    "States",
    "Step",
    "Suppression",
    "Winding",
    "Wire",
    "fault_from_neutral",
    "fault_modes",
    "fault_table",
    "fault_tables",
    "network_from_machine",
    "network_from_neutral",
    "network_of",
    "nodes_measured",
    "operate",
    "pairs",
    "part_from_neutral",
    "resistance",
    "solve",
    "step_from_neutral",
    "wire_resistance",
    "with_fault",
    "with_faults",
    "with_meters",
]
