"""Where each key of a TOML text stands."""

from __future__ import annotations

import tomllib
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from tests.machine.files import plover_path
from tripmargin.machine.loading import DEMO_MACHINES, demo_path
from tripmargin.machine.positions import positions


def paths(value: Any, above: tuple[str | int, ...] = ()) -> set[tuple[str | int, ...]]:
    found = {above} if above else set()
    items = (
        enumerate(value)
        if isinstance(value, list)
        else (value.items() if isinstance(value, dict) else ())
    )
    for key, item in items:
        found |= paths(item, (*above, key))
    return found


def test_every_key_of_a_machine_file_has_its_line() -> None:
    for path in (plover_path(), *map(demo_path, DEMO_MACHINES)):
        content = path.read_bytes()
        tables = tomllib.loads(content.decode())
        lines = content.decode().splitlines()
        known = positions(content)
        # A table that only stands in the name of another ([a.b] makes a) has no line of its own.
        only_in_names = {place[:n] for place in known for n in range(1, len(place))}
        assert not paths(tables) - set(known) - only_in_names
        for place, line in known.items():
            if isinstance(place[-1], str):
                assert place[-1] in lines[line - 1]


@given(st.text(max_size=200))
def test_positions_of_any_text_are_lines_of_it(text: str) -> None:
    content = text.encode("utf-8", "replace")
    assert all(1 <= line <= content.count(b"\n") + 1 for line in positions(content).values())
