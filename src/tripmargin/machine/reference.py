"""The reference page of the machine file, made from the specifications of its fields."""

from __future__ import annotations

from tripmargin.machine.fields import FieldOfFile, Spec, all_fields
from tripmargin.machine.model import SECTIONS

_HEAD = """\
# The machine file, field by field

This page is made from the program's own list of fields (`tripmargin.machine.all_fields()`); a test
keeps it current. How to measure each field in the yard, with drawings:
[how to measure a machine](../how-to/measure-a-machine.md). The same as a JSON Schema:
[machine-file.schema.json](machine-file.schema.json), or `tripmargin machine schema`.

**Before any measurement: engine off, key out, wait until everything is at rest, release stored
energy (springs, hydraulics), block the feed rolls, wear gloves near knives. The operator's manual,
local codes and licensed practice come first. The protection saves knives, not people.**

## Quantities

A quantity is a text with its unit.

| written | meaning |
|---|---|
| `"330 mm"` | exact |
| `"330 mm +- 4 mm"` | between limits, evenly (a rectangular distribution: JCGM 100:2008, 4.3.7) |
| `"1000 rpm +- 2 %"` | the same; a percentage is of the value |
| `"3 % +- 1 %"` | behind a value that is itself in %, percentage points |
| `"2 ms .. 4 ms"` | the same by its two limits; the nominal value is the middle |
| `"3.5 mm +- 0.4 mm (sd)"` | normal, with this standard deviation; low and high: 2 of them away |
| `"13 1/4 in"`, `"3/8 in"` | fractions as a rule in inches shows them |

Left-out fields: those with an entry under *assumed* are taken with these wide limits, and every
answer that used them says so. The others are not known, and the answer that needs one names it. A
file may begin with `extends = "type.toml"`: a type sheet beside it, overridden key by key, tables
of an array matched by their `name`.
"""


def reference_page() -> str:
    """The reference page, as Markdown."""
    parts = [
        _HEAD,
        _section(
            "At the top", [f for f in all_fields() if "." not in f.path and f.path not in SECTIONS]
        ),
    ]
    for name, (_, meaning) in SECTIONS.items():
        below = [f for f in all_fields() if f.path.startswith(f"{name}.")]
        parts.append(_section(f"`[{name}]`: {meaning}", below))
    return "\n".join(parts)


def _section(title: str, found: list[FieldOfFile]) -> str:
    lines = [f"## {title}", "", "| field | meaning | allowed | assumed |", "|---|---|---|---|"]
    lines += [_row(f) for f in found]
    measured = [f for f in found if f.spec.measure]
    if measured:
        lines += ["", "How to measure:", ""]
        lines += [f"- `{f.path}`: {f.spec.measure}" for f in measured]
    return "\n".join([*lines, ""])


def _row(found: FieldOfFile) -> str:
    spec = found.spec
    meaning = spec.meaning + (" (required where its table is written)" if spec.required else "")
    cells = [f"`{found.path}`", meaning, spec.allowed(), _assumed(spec)]
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _assumed(spec: Spec) -> str:
    if spec.assumed is None:
        return ""
    if isinstance(spec.assumed, dict):
        return ", ".join(f"{key} {value}" for key, value in spec.assumed.items())
    return str(spec.assumed)
