"""How large a machine of the records may be, so that no file holds the server for minutes."""

from __future__ import annotations

import pytest

from tripmargin.machine import demo_machines
from tripmargin.machine.files import merged, read_sheets
from tripmargin.machine.loading import demo_path
from tripmargin.records.keeping.sizes import LONGEST_LIST, MOST, too_long, too_many


@pytest.mark.parametrize("name", demo_machines())
def test_the_demo_machines_are_let_in(name: str) -> None:
    tables = merged(read_sheets(demo_path(name)))
    assert too_many(tables, name) == []
    assert too_long(tables, name) == []


@pytest.mark.parametrize("field", ["circuit.parts", "circuit.test_points", "checks.states"])
def test_a_wiring_that_would_take_minutes_is_not(field: str) -> None:
    section, _, last = field.partition(".")
    for count, troubles in ((MOST[field], 0), (MOST[field] + 1, 1)):
        tables = {section: {last: {f"x{k}": {} for k in range(count)}}}
        assert len(too_many(tables, "x.toml")) == troubles
    assert "the command line takes them all" in str(too_many(tables, "x.toml")[0])


def test_a_list_that_is_gone_through_again_and_again_has_an_end() -> None:
    for count, troubles in ((LONGEST_LIST, 0), (LONGEST_LIST + 1, 1)):
        tables = {"checks": {"states": {"held": {"steps": ["key on"] * count}}}}
        assert len(too_long(tables, "x.toml")) == troubles
    said = str(too_long(tables, "x.toml")[0])
    assert "checks.states.held.steps" in said
    assert f"at most {LONGEST_LIST}" in said
