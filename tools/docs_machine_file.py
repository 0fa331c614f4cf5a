"""docs/reference/machine-file.md: every field of the machine file, from their specifications."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tripmargin.machine.fields import FieldOfFile, Spec

PAGE = "reference/machine-file.md"
INTRODUCTION = """\
# The machine file

One file a machine, in TOML. Every quantity is text with its unit, metric or US: `"330 mm"`,
`"13 in"`. `"a +- b"` and `"a .. b"` are limits, any value between them as likely as another;
`"a +- b (sd)"` is a normal distribution with that standard deviation. A `+-` in per cent is
relative to the value, except behind a value in per cent, where it means percentage points. Only
`format = 1` is needed: an answer says which sections it needs and what it assumed for fields that
were not given. `extends = "type.toml"` takes everything from a type sheet and overrides it key by
key. An unknown field is refused, and the nearest known one is named.

`tripmargin machine new` asks for the fields one at a time; `tripmargin machine check` reads a file
and says what is wrong with it. Before you measure on a machine: engine off, key out, everything at
rest, stored energy released, feed rolls blocked, as the operator's manual says.

A name with brackets, such as `chain.pawls[].clearance`, stands in a table that may be given many
times; `<fuse>` in `circuit.parts.<fuse>.rating` stands for the name of any fuse (how to write the
wiring, with an example: [the circuit](../explanation/the-circuit.md)). Made by `make docs` from the
specifications that loading uses; the same as a JSON Schema:
[machine-file.schema.json](machine-file.schema.json). How to measure each, with drawings:
[how to measure a machine](../how-to/measure-a-machine.md).
"""


def text() -> str:
    from tripmargin.machine import all_fields

    parts = [INTRODUCTION]
    rows: list[str] = []
    for each in all_fields():
        if each.spec.holds_tables:
            parts.extend(rows)
            rows = []
            parts.append(f"\n## `{each.path}`\n\n{sentence(each.spec.meaning)}\n")
        else:
            rows += entry(each)
    return "\n".join([*parts, *rows]) + "\n"


def entry(each: FieldOfFile) -> list[str]:
    """Return the lines of one field: what it is, what is allowed, assumed, how to measure."""
    spec = each.spec
    lines = [
        f"- **`{each.path}`**: {sentence(spec.meaning)}",
        f"  - Allowed: {sentence(spec.allowed())}",
    ]
    if spec.required:
        lines.append("  - Needed where its table is given.")
    assumed = assumption(spec)
    if assumed:
        lines.append(f"  - Assumed without it: {assumed}.")
    if spec.usual is not None:
        lines.append(f"  - Usual, taken without it: {as_toml(spec.usual)}.")
    if spec.measure:
        lines.append(f"  - To measure: {sentence(spec.measure)}")
    return lines


def assumption(spec: Spec) -> str:
    value: Any = spec.assumed
    return "" if value is None else f"`{value}`"


def as_toml(value: Any) -> str:
    """Return a value as a person writes it in the file."""
    if isinstance(value, dict):
        inside = ", ".join(f"{key} = {as_toml(item).strip('`')}" for key, item in value.items())
        return f"`{{ {inside} }}`"
    return f"`{str(value).lower() if isinstance(value, bool) else json.dumps(value)}`"


def sentence(text: str) -> str:
    text = text[:1].upper() + text[1:]
    return text if text.endswith((".", "?", "!")) else f"{text}."
