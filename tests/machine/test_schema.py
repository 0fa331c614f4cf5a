"""The published JSON Schema against the machine files that it describes."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.machine.files import SMALL, plover_path, written
from tests.machine.test_bad_files import BAD_VALUES
from tests.reference import ROOT
from tripmargin.ground.errors import MachineFileError, QuantityError
from tripmargin.ground.quantities import quantity
from tripmargin.ground.units import DIMENSIONS
from tripmargin.machine import demo_machines, json_schema, load_machine
from tripmargin.machine.files import merged, read_sheets
from tripmargin.machine.loading import demo_path
from tripmargin.machine.schema import quantity_pattern

CHECK = jsonschema.Draft202012Validator(json_schema())


def faults(tables: Any) -> list[str]:
    return [error.message for error in CHECK.iter_errors(tables)]


def test_it_is_a_schema_of_draft_2020_12_that_names_no_host() -> None:
    jsonschema.Draft202012Validator.check_schema(json_schema())
    assert json_schema()["$id"].startswith("urn:")
    text = json.dumps({k: v for k, v in json_schema().items() if k != "$schema"})
    assert "http" not in text


def test_the_published_copy_is_current() -> None:
    published = ROOT / "docs" / "reference" / "machine-file.schema.json"
    assert json.loads(published.read_text(encoding="utf-8")) == json_schema(), (
        "run `make docs`, or tripmargin machine schema > docs/reference/machine-file.schema.json"
    )


def test_the_contracts_example_is_valid() -> None:
    assert not faults(tomllib.loads(plover_path().read_text(encoding="utf-8")))


@pytest.mark.parametrize("name", demo_machines())
def test_a_demo_machine_is_valid_alone_and_over_its_type_sheet(name: str) -> None:
    path = demo_path(name)
    assert not faults(tomllib.loads(path.read_text(encoding="utf-8")))
    assert not faults(merged(read_sheets(path)))


def test_every_type_sheet_is_valid() -> None:
    for path in demo_path("curlew").parent.glob("type-*.toml"):
        assert not faults(tomllib.loads(path.read_text(encoding="utf-8")))


# Beyond a schema of texts: ranges inside texts, fields that must agree, numbers that JSON lacks.
BEYOND = (
    "9 m",
    "60 mm +- 50 mm",
    '"1e400 mm"',
    "264 mm",
    '"0 rpm"',
    '"0 V"',
    '"200 Hz"',
    "[0, 0, 0]",
    "90 mm",
    '"resistor"',
    '"none", voltage',
    'name = "lower"',
    'name = "2"',
    "0x",
    "NaN mm +-",
    '["5 mm +- 1 mm"]',
)


@pytest.mark.parametrize(
    ("old", "new"),
    [(old, new) for old, new, *_ in BAD_VALUES if not any(part in new for part in BEYOND)],
    ids=lambda part: part[:25],
)
def test_what_loading_refuses_the_schema_refuses(old: str, new: str) -> None:
    tables = tomllib.loads(SMALL.replace(old, new))
    if "nan" in new or "1e400" in new:
        with pytest.raises(ValueError, match="JSON"):  # no JSON number at all
            json.dumps(tables, allow_nan=False)
        return
    assert faults(tables)


def test_an_incomplete_table_is_valid_over_a_type_sheet_only() -> None:
    part = {"chain": {"pawls": [{"name": "lower", "swing_time": {"time": "7 ms"}}]}}
    assert not faults({"extends": "type.toml"} | part)
    assert faults(part)


@given(
    text=st.text(alphabet="0123456789.+-/ eE%±mVsrpohk()dg²in", max_size=30)
    | st.builds(
        "{} {} +- {} {}".format,
        st.integers(0, 999),
        st.sampled_from(["mm", "in", "V", "ms", "%"]),
        st.floats(0, 9),
        st.sampled_from(["mm", "in", "V", "%", "", "mm (sd)"]),
    ),
    dimension=st.sampled_from(["length", "voltage", "time", "fraction", "number"]),
)
def test_a_text_that_reads_as_a_quantity_has_the_schemas_pattern(text: str, dimension: str) -> None:
    import re

    fits = re.search(quantity_pattern(dimension), text) is not None
    try:
        quantity(text, dimension)
    except QuantityError:
        return  # a pattern can't compare limits
    assert fits


@given(
    number=st.sampled_from(["3", "3.5", ".5", "3.", "1e2", "1/2", "1 1/2", "1-1/2"]),
    dimension=st.sampled_from(list(DIMENSIONS)),
    tail=st.sampled_from(["", " +- {}", " .. {}", " ± 1 %", " +- {} (sd)"]),
    data=st.data(),
)
def test_the_pattern_and_the_reader_agree_on_every_unit(
    number: str, dimension: str, tail: str, data: st.DataObject
) -> None:
    import re

    unit = data.draw(st.sampled_from(list(DIMENSIONS[dimension].units)))
    one = f"{number} {unit}"
    text = one + tail.format(one)
    assert re.search(quantity_pattern(dimension), text)
    if not (dimension == "temperature" and "%" in tail):
        quantity(text, dimension)


def test_a_file_that_the_schema_takes_loads(tmp_path: Path) -> None:
    assert not faults(tomllib.loads(SMALL))
    try:
        load_machine(written(tmp_path, SMALL))
    except MachineFileError as error:
        pytest.fail(str(error))
