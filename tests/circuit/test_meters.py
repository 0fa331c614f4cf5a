import math

import numpy as np
import pytest

from tests.circuit.plover_circuit import plover
from tripmargin.circuit import (
    Change,
    CircuitError,
    Fault,
    fault_table,
    operate,
    resistance,
    with_fault,
    with_meters,
)

BROKEN = Fault("W2 open", "", (Change("open", "W2"),))


def test_a_meter_on_a_broken_wire_shows_next_to_nothing():
    network = plover()
    bare = operate(network, ["armed"], [BROKEN])["armed"]
    metered = operate(with_meters(network, ["D.15", "15a"]), ["armed"], [BROKEN])["armed"]
    assert abs(metered.across("D.15")) < 0.2
    assert metered.across("15a") == pytest.approx(bare.across("15a"), abs=1e-4)
    assert metered.across("15a", "D.15") == pytest.approx(
        metered.voltages["15a"] - metered.voltages["D.15"]
    )


def test_meters_change_no_lamp():
    network = plover()
    metered = operate(with_meters(network, network.nodes))
    for before, after in zip(operate(network), metered, strict=True):
        assert after.lamps == before.lamps


def test_a_table_gives_the_voltage_across_two_nodes():
    table = fault_table(plover(), ["armed"], [BROKEN])
    states = [operate(plover(), ["armed"], faults)["armed"] for faults in ((), (BROKEN,))]
    expected = [[state.across("15a", "31")] for state in states]
    assert table.across("15a", "31") == pytest.approx(np.array(expected))
    with pytest.raises(CircuitError, match="no such node"):
        table.across("15z")


def test_an_ohmmeter_reads_a_winding_and_what_is_parallel_to_it():
    network = plover()
    # hold 16 ohm, beside it the pull winding 0.8 + 0.02 ohm through its end-of-travel switch
    both = 1 / (1 / 16.0 + 1 / 0.82)
    assert resistance(network, "Y.87", "Y.31", closed=["Y.end"]) == pytest.approx(both, rel=1e-3)
    assert resistance(network, "Y.87", "Y.31") == pytest.approx(16.0, rel=1e-3)
    alone = resistance(network, "Y.87", "Y.31", closed=["Y.end"], unplugged=["Y.hold"])
    assert alone == pytest.approx(0.82, rel=1e-3)


def test_a_broken_sensor_reads_overload():
    broken = with_fault(plover(), Fault("S", "", (Change("open", "S"),)))
    unplugged = ["W4", "W5"]
    assert resistance(plover(), "S.1", "S.2", unplugged=unplugged) == pytest.approx(480.0, rel=1e-3)
    assert resistance(broken, "S.1", "S.2", unplugged=unplugged) == math.inf
    assert resistance(plover(), "S.1", "S.1") == 0.0


def test_a_probe_on_nothing_is_refused():
    with pytest.raises(CircuitError, match="no such node"):
        resistance(plover(), "S.1", "S.9")
    with pytest.raises(CircuitError, match="no such node"):
        with_meters(plover(), ["S.9"])
    with pytest.raises(CircuitError, match="no such part"):
        resistance(plover(), "S.1", "S.2", unplugged=["W44"])
