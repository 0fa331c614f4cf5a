"""What was measured, put into a machine file's text as `[[measured.fields]]`: all else stays."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from tripmargin.ground.errors import MachineFileError, Problem
from tripmargin.ground.languages import say
from tripmargin.machine.files import tables_of
from tripmargin.machine.layout import Layout, as_toml
from tripmargin.machine.measured_section import MeasuredField
from tripmargin.machine.toml_words import toml_words

_KEYS = ("field", "on", "by", "how", "drift")
_AT = ("measured", "fields")


def with_measured(text: str, entries: Sequence[MeasuredField]) -> str:
    r"""A machine file's text that says of some fields that they were measured.

    Parameters
    ----------
    text : str
        A machine file, TOML.
    entries : sequence of MeasuredField
        Where the file has an entry for a field already, the new one takes its place; a drift that
        it states stays, unless the new one states one.

    Returns
    -------
    str
        To be read again: that the fields are there and the days are days is not checked here.

    Raises
    ------
    MachineFileError
        If the text is not TOML, or is written so that an entry cannot be put into it.

    Examples
    --------
    >>> one = MeasuredField(field="chain.supply", on="2026-05-03", by="Ann")
    >>> print(with_measured('[chain]\nsupply = "13 V"', [one]))
    [chain]
    supply = "13 V"
    <BLANKLINE>
    [[measured.fields]]
    field = "chain.supply"
    on = "2026-05-03"
    by = "Ann"
    <BLANKLINE>
    """
    for entry in entries:
        said = {key: value for key in _KEYS if (value := getattr(entry, key)) is not None}
        text = _with(text, said)
    return text


def _with(text: str, said: dict[str, str]) -> str:
    tables = _read(text)
    held = _held(tables)
    at = next((k for k, one in enumerate(held) if one.get("field") == said["field"]), len(held))
    if at < len(held):
        for key, value in said.items():
            text = _replaced(text, at, key, value)
        return text
    measured = tables.get("measured")
    rest = measured if isinstance(measured, dict) else {}
    wanted = {**tables, "measured": {**rest, "fields": [*held, said]}}
    return _first_right(_added(text, said), wanted, said["field"])


def _replaced(text: str, at: int, key: str, value: str) -> str:
    tables = _read(text)
    held = _held(tables)
    one = {**held[at], key: value}
    measured = {**tables["measured"], "fields": [*held[:at], one, *held[at + 1 :]]}
    # An array's tables without a name are known by their number.
    path: Any = (*_AT, at, key)
    ways = Layout.of(text).ways(path, value)
    return _first_right(ways, {**tables, "measured": measured}, str(one["field"]))


def _added(text: str, said: dict[str, str]) -> Iterator[str]:
    """Texts with one entry more: as a table at the end, or in the brackets of a list."""
    end = "\r\n" if "\r\n" in text else "\n"
    lines = ["[[measured.fields]]", *(f"{key} = {as_toml(value)}" for key, value in said.items())]
    closed = text if not text or text.endswith("\n") else text + end
    yield closed + end + "".join(f"{line}{end}" for line in lines)
    span = Layout.of(text).values.get(_AT)
    if span is not None:
        content = text.encode()
        before = content[: span[1] - 1].decode().rstrip(" ")
        for comma in (",", ""):  # a comma may stand at the end already
            yield f"{before}{comma} {as_toml(said)}{content[span[1] - 1 :].decode()}"


def _first_right(ways: Iterator[str], wanted: dict[str, Any], field: str) -> str:
    """The first text that says just what is wanted."""
    for made in ways:
        try:
            if tables_of(made) == wanted:
                return made
        except (ValueError, RecursionError):
            continue
    raise _refused(
        field,
        say("cannot be put into the text as [measured] is written"),
        say("Write the entry into the file by hand, and add the file as a new version."),
    )


def _read(text: str) -> dict[str, Any]:
    try:
        return tables_of(text)
    except (ValueError, RecursionError) as error:
        raise _refused("", say("not TOML: {said}", said=toml_words(error, place=True))) from error


def _held(tables: dict[str, Any]) -> list[dict[str, Any]]:
    measured = tables.get("measured")
    held = measured.get("fields") if isinstance(measured, dict) else None
    return [one for one in held if isinstance(one, dict)] if isinstance(held, list) else []


def _refused(field: str, problem: str, hint: str = "") -> MachineFileError:
    allowed = say("a machine file with its [[measured.fields]]")
    return MachineFileError([Problem(say("the file"), None, field, "", problem, allowed, hint)])
