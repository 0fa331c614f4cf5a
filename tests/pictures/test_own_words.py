"""A demo machine's own words in pictures: read in the language spoken; tables keep the file's."""

from __future__ import annotations

from tripmargin.circuit import network_from_machine, operate
from tripmargin.ground.languages import speaking
from tripmargin.machine import load_machine
from tripmargin.pictures.current_paths import current_paths_picture, current_paths_table
from tripmargin.pictures.machine_stands import Control, Sign, Stands, stands_picture


def test_the_circuit_names_its_parts_in_german_and_its_table_as_the_file_does():
    network = network_from_machine(load_machine("sanderling"))
    state = operate(network)["metal"]
    with speaking("de"):
        drawn = current_paths_picture(network, state)
        _, rows = current_paths_table(network, state)
    for word in ("Metall", "Batterie", "ungeschützt", "Freigabeschalter"):
        assert word in drawn
    assert ">feed free<" not in drawn
    assert {"feed free", "unprotected"} <= {row[0] for row in rows}


def test_a_machine_as_it_stands_is_drawn_in_german():
    control = Control("arm", "off", ("off", "on"))
    stands = Stands("key on", False, True, (control,), (Sign("feed free", "lamp", "on"),))
    with speaking("de"):
        drawn = stands_picture(stands)
    for word in ("Zündung ein", "Freigabeschalter: aus", "Einzug frei"):
        assert word in drawn
    assert "Freigabeschalter" not in stands_picture(stands)
