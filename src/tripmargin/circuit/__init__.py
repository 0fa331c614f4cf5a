"""The circuit: what every lamp, meter and movement should show, healthy or faulty."""

from tripmargin.circuit.behaviours import (
    BEHAVIOURS,
    CheckWinding,
    Detector,
    Input,
    Mechanism,
    Relay,
    SensorInput,
)
from tripmargin.circuit.errors import CircuitError, NoSolutionError
from tripmargin.circuit.faults import Change, Fault, pairs, with_fault, with_faults
from tripmargin.circuit.moves import ByModule, ByPlunger, ByRelay, BySwitch
from tripmargin.circuit.network import Network
from tripmargin.circuit.neutral import (
    fault_from_neutral,
    network_from_neutral,
    part_from_neutral,
    step_from_neutral,
)
from tripmargin.circuit.operating import operate
from tripmargin.circuit.parts import *
from tripmargin.circuit.solving import Solution, solve
from tripmargin.circuit.states import Moment, State, States
from tripmargin.circuit.steps import Step
from tripmargin.circuit.wires import wire_resistance
