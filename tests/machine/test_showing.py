"""A machine as rows: value in the units wanted, as written, assumed."""

from __future__ import annotations

from pathlib import Path

from tests.machine.files import SMALL, written
from tripmargin.machine import load_machine
from tripmargin.machine.showing import rows


def test_each_field_is_shown_with_its_value_and_as_written() -> None:
    found = {f"{row.section}.{row.field}": row for row in rows(load_machine("whimbrel"), us=True)}
    distance = found["feed.sensor_to_shear_bar"]
    metric = load_machine("whimbrel").get("feed.sensor_to_shear_bar")
    assert distance.written == metric.text
    assert distance.value.startswith(f"{metric.nominal / 0.0254:.4g} in")
    assert found["feed.cut_lengths"].value.startswith("0.1969 in")  # 5 mm / 25.4
    assert found["sensor.assemblies.1.magnet.direction"].value == "0, 0, -1"


def test_what_is_assumed_is_marked_and_not_shown_as_written(tmp_path: Path) -> None:
    found = {
        f"{row.section}.{row.field}": row for row in rows(load_machine(written(tmp_path, SMALL)))
    }
    assert found["chain.supply"].assumed
    assert found["chain.supply"].written == ""
    assert found["chain.pawls.lower.swing_time.time"].assumed
    assert not found["chain.pawls.lower.clearance"].assumed


def test_every_quantity_of_the_machine_has_a_row() -> None:
    machine = load_machine("curlew")
    named = {f"{row.section}.{row.field}" for row in rows(machine)}
    for path, _ in machine.quantities():
        assert path in named or path.rpartition(".")[0] in named


def test_a_what_if_is_marked() -> None:
    machine = load_machine("curlew").with_settings({"supply": 10.5})
    assert [row.field for row in rows(machine) if row.changed] == ["supply"]
