"""Faults and refusals of a circuit in German."""

from __future__ import annotations

import pytest

from tripmargin.circuit import CircuitError, Fuse, GroundJoint, Load, Network, Source, fault_modes
from tripmargin.ground.languages import speaking

PARTS = (
    Source("BAT", "30", "0"),
    Fuse("F1", "30", "15"),
    Load("D", "15", "31"),
    GroundJoint("G1", "31", "0"),
)


def test_a_fault_is_said_in_the_language_of_its_reader():
    modes = {mode.fault.id: mode.fault for mode in fault_modes(Network(PARTS))}
    assert modes["F1:open"].text == "F1: fuse gone"
    with speaking("de"):
        assert modes["F1:open"].text == "F1: Sicherung durchgebrannt"
        assert modes["G1:corroded"].text == "G1: Massepunkt korrodiert, 2 Ω"
    assert modes["F1:open"].text == "F1: fuse gone"


def test_a_circuit_is_refused_in_german():
    with speaking("de"), pytest.raises(CircuitError) as caught:
        Network(PARTS).part("F2")
    assert "dieses Teil gibt es nicht" in str(caught.value)
    assert "Erlaubt: BAT, F1, D, G1." in str(caught.value)


def test_a_strength_has_a_decimal_comma():
    from tripmargin.circuit.faults import at_part
    from tripmargin.ground.languages.phrases import Phrase

    burnt = Phrase("make contact burnt, {value:g} ohm", {"value": 0.3})
    with speaking("de"):
        assert str(at_part("K1", burnt)) == "K1: Schließer verbrannt, 0,3 Ω"
