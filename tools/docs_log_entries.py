"""docs/reference/log-entries.md: every kind of entry and its fields, from their specifications."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tripmargin.records.kinds import Field, Kind

PAGE = "reference/log-entries.md"
INTRODUCTION = """\
# Log entries

What the log of a machine takes, made by `make docs` from the specifications that the command line,
the web app and imports use. How to enter them: [keep a log](../how-to/keep-a-log.md).

Every entry has a machine, a kind, a time, who entered it and, if wanted, a note. It gets an id, and
keeps the time at which it came in and the version of the machine's file that was in force. Entries
are only ever added: one that was wrong is corrected by another that points at it, or taken back by
one of the kind `withdrawn`, which has no fields.

In files and under `--json` values are in SI, and the end of a key is its unit: `_m` metres, `_s`
seconds, `_m_s` metres a second. On the command line a quantity has its unit, and that end may be
left out: `size="20 mm"`. A key that ends in a name, such as `gap_after_m/lower`, is there once for
each of the machine's own names. What lies outside the limits is refused as a slip of the pen.

Kinds marked with ▲ come of work near rolls, knives, springs or wiring. Before it: engine off, key
out, everything at rest, stored energy released, feed rolls blocked, as the operator's manual says.
"""
NAMES = {"pawls": ("PAWL", "pawl"), "steps": ("STEP", "operating step")}


def text() -> str:
    from tripmargin.records.kinds import KINDS

    return "\n".join([INTRODUCTION, *map(section, KINDS.values())])


def section(kind: Kind) -> str:
    mark = " ▲" if kind.near else ""
    rows = "\n".join(row(field) for field in kind.fields)
    return (
        f"## {kind.name}{mark}\n\n{kind.meaning}\n\n"
        f"| key | what it says | unit | allowed |\n|---|---|---|---|\n{rows}\n"
    )


def row(field: Field) -> str:
    name, noun = NAMES.get(field.names, ("", ""))
    said = field.label if field.label.endswith("?") else f"{field.label}."
    if noun:
        said += f" One for each {noun}."
    if field.help:
        said += f" {field.help}"
    if field.required:
        said += " **Needed.**"
    return f"| `{field.key}{name}` | {said} | {unit(field)} | {allowed(field)} |"


def unit(field: Field) -> str:
    from tripmargin.ground.units import DIMENSIONS

    return DIMENSIONS[field.dimension].si if field.dimension else ""


def allowed(field: Field) -> str:
    if field.what != "choice":
        return field.allowed()
    return "; ".join(f"`{name}`: {meaning}" for name, meaning in field.choices.items())
