"""A machine kept as texts: what a case carries, so that it can be taken up without the file."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from tripmargin.ground.errors import MachineFileError, TripmarginError, shortened
from tripmargin.ground.languages import later, say
from tripmargin.machine.copy_values import (
    as_toml,
    canonical,
    compared,
    setting,
    settings_of,
    with_texts,
    written,
)
from tripmargin.machine.file_errors import toml_error
from tripmargin.machine.files import Sheet, merged, read_sheets
from tripmargin.machine.loading import DEMO_MACHINES, demo_path, machine_from
from tripmargin.machine.model import SECTIONS, Machine

FORMAT = 1
_ALLOWED = later('a copy as `copy_of` makes it: {"format": 1, "file": ..., "sheets": [...], ...}')
_WRITTEN = "# Written from the machine itself: no file at hand says the same.\n"


class MachineCopyError(TripmarginError, ValueError):
    """A machine that cannot be copied, or a copy that is not one.

    `.file` is the machine's file, `.where` the place in the copy or the field, `.value` what was
    seen there, `.allowed` what would do, `.hint` how to mend it.
    """

    def __init__(
        self, file: str, where: str, value: str, problem: str, allowed: str, hint: str = ""
    ) -> None:
        self.file, self.where, self.value = file, where, value
        self.problem, self.allowed, self.hint = problem, allowed, hint
        seen = f" = {shortened(value)}" if value else ""
        text = say(
            "{file}: {where}{seen}: {problem}.\n  Allowed: {allowed}.",
            file=file or say("machine"),
            where=where,
            seen=seen,
            problem=problem,
            allowed=allowed,
        )
        super().__init__(f"{text}\n  {hint}" if hint else text)


@dataclass(frozen=True, slots=True)
class Difference:
    """A field that two machines give differently.

    `field` is dotted, an array's tables by name; `before` and `after` are the texts as written,
    empty where the field is not given.
    """

    field: str
    before: str
    after: str

    def __str__(self) -> str:
        before, after = (text or say("not given") for text in (self.before, self.after))
        return f"{self.field}: {before} -> {after}"

    def to_dict(self) -> dict[str, str]:
        """JSON-ready."""
        return asdict(self)


def copy_of(machine: Machine) -> dict[str, Any]:
    """A copy of the machine that needs no file: the texts of its sheets, JSON-ready.

    Parameters
    ----------
    machine : Machine
        From a file, a demo machine, or made up. Where its file is gone or says something else by
        now, the text is written from the machine itself.

    Returns
    -------
    dict
        "format", "file" and "name"; "sheets", the machine's own first, each with "name" (no
        folder) and "text"; "settings" and "changed" where it is a what-if; "digest".

    Raises
    ------
    MachineCopyError
        If neither its file nor its own texts give the machine again.

    Examples
    --------
    >>> from tripmargin.machine import load_machine
    >>> copy = copy_of(load_machine("curlew"))
    >>> [sheet["name"] for sheet in copy["sheets"]]
    ['curlew.toml', 'type-trailed-electric.toml']
    >>> machine_from_copy(copy) == load_machine("curlew")
    True
    """
    sheets, settings = _given(machine)
    made: dict[str, Any] = {
        "format": FORMAT,
        "file": Path(machine.file).name,
        "name": machine.name,
        "sheets": [{"name": sheet.name, "text": sheet.content.decode()} for sheet in sheets],
    }
    if machine.changed:
        made |= {"settings": settings, "changed": list(machine.changed)}
    return made | {"digest": _digest(sheets, settings)}


def machine_from_copy(copy: Mapping[str, Any], file: str | None = None) -> Machine:
    """The machine again, from the copy's texts alone.

    Parameters
    ----------
    copy : mapping
        As `copy_of` made it, or as JSON gave it back.
    file : str, optional
        What the machine's `.file` shall say; without it, the name of its file, no folder.

    Raises
    ------
    MachineCopyError
        If it is no such copy, or its texts are not those that its digest was made from.
    MachineFileError
        As loading raises it, with the sheet's name and line.
    """
    sheets, settings = _parts_of(copy)
    name = str(copy.get("file", ""))
    machine = _rebuilt(sheets, settings, name, tuple(map(str, copy.get("changed", ()))))
    seen = _digest(sheets, settings)
    if copy.get("digest") != seen:
        raise MachineCopyError(
            name,
            "digest",
            str(copy.get("digest")),
            say("the texts of the copy are not those that were copied"),
            say("{digest}..., which the texts give now", digest=seen[:12]),
            say("Somebody changed the copy. Load the machine from its own file instead."),
        )
    return machine if file is None else replace(machine, file=file)


def digest_of(machine: Machine | Mapping[str, Any]) -> str:
    """SHA-256 of what a machine, or a copy of one, says: comments and layout don't count.

    Taken from the merged tables as JSON with sorted keys, and from a what-if's settings; not from
    the names of files.
    """
    return _digest(*_given(machine))


def differences(
    before: Machine | Mapping[str, Any], after: Machine | Mapping[str, Any]
) -> tuple[Difference, ...]:
    """What two machines, or copies of them, give differently, in the order of the first.

    Examples
    --------
    >>> from tripmargin.machine import load_machine
    >>> curlew = load_machine("curlew")
    >>> print(*differences(curlew, curlew.with_settings({"feed.sensor_to_shear_bar": 0.3})))
    feed.sensor_to_shear_bar: 259 mm +- 3 mm -> 300 mm
    """
    old, new = (
        with_texts(merged(sheets), settings) for sheets, settings in map(_given, (before, after))
    )
    return tuple(Difference(*found) for found in compared("", old, new))


# --- from a machine to its sheets and settings -------------------------------------------------


def _given(machine: Machine | Mapping[str, Any]) -> tuple[tuple[Sheet, ...], dict[str, Any]]:
    if not isinstance(machine, Machine):
        return _parts_of(machine)
    try:
        settings = settings_of(machine)
    except KeyError as error:  # a pawl's name with a point in it
        raise MachineCopyError(
            machine.file,
            "changed",
            ", ".join(machine.changed),
            say("no field can be found by this path: {error}", error=error),
            say("dotted paths; names without a point"),
            say("Take the point out of the name in the machine file."),
        ) from error
    return _sheets_of(machine, settings), settings


def _sheets_of(machine: Machine, settings: dict[str, Any]) -> tuple[Sheet, ...]:
    """The sheets that give this machine: its file's, or else written from the machine itself."""
    why: MachineFileError | None = None
    for sheets_from in (_sheets_on_disk, _sheets_written):
        try:
            sheets = sheets_from(machine)
            if _rebuilt(sheets, settings, machine.file, machine.changed) == machine:
                return sheets
        except MachineFileError as error:
            why = error
    raise MachineCopyError(
        machine.file,
        "machine",
        machine.name,
        say("neither its file nor its own values written as texts give this machine again"),
        say("a machine as its file gives it, or a what-if of it"),
        say("Load it again from its file. It was said: {why}", why=why)
        if why
        else say("Load it again from its file."),
    )


def _sheets_on_disk(machine: Machine) -> tuple[Sheet, ...]:
    path = Path(machine.file)
    is_demo = machine.file in DEMO_MACHINES and not path.exists()
    return read_sheets(demo_path(machine.file) if is_demo else path)


def _sheets_written(machine: Machine) -> tuple[Sheet, ...]:
    text = _WRITTEN + f"format = {FORMAT}\n"
    for section in SECTIONS:
        table = getattr(machine, section)
        fields = {} if table is None else written(table, section, machine.assumed)
        if fields or (table is not None and section != "limits"):  # limits are there unwritten
            lines = [f"[{section}]", *(f"{key} = {as_toml(item)}" for key, item in fields.items())]
            text += "\n" + "\n".join(lines) + "\n"
    return (_sheet(f"{Path(machine.file).stem or 'machine'}.toml", text),)


def _rebuilt(
    sheets: tuple[Sheet, ...], settings: dict[str, Any], file: str, changed: tuple[str, ...]
) -> Machine:
    machine = machine_from(sheets, file)
    if not changed:
        return machine
    machine = machine.with_settings(
        {path: setting(kept) for path, kept in settings.items() if kept is not None}
    )
    return replace(machine, changed=changed)


def _digest(sheets: tuple[Sheet, ...], settings: dict[str, Any]) -> str:
    tables = merged(sheets)
    tables.pop("format", None)
    said = {"tables": tables, "settings": settings} if settings else tables
    return hashlib.sha256(canonical(said).encode()).hexdigest()


# --- from a copy to its sheets and settings ----------------------------------------------------


def _parts_of(copy: Mapping[str, Any]) -> tuple[tuple[Sheet, ...], dict[str, Any]]:
    file = str(copy.get("file", "")) if isinstance(copy, Mapping) else ""
    if not isinstance(copy, Mapping) or copy.get("format") != FORMAT:
        seen = copy.get("format") if isinstance(copy, Mapping) else copy
        raise MachineCopyError(
            file, "format", repr(seen), say("not a copy of a machine"), say(_ALLOWED)
        )
    sheets, settings = copy.get("sheets"), copy.get("settings", {})
    if not isinstance(sheets, list) or not sheets or not all(map(_is_sheet, sheets)):
        what = say("not the names and texts of a machine's sheets")
        raise MachineCopyError(file, "sheets", repr(sheets), what, say(_ALLOWED))
    if not isinstance(settings, dict) or not isinstance(copy.get("changed", []), list):
        what = say("not the settings of a what-if")
        raise MachineCopyError(file, "settings", repr(settings), what, say(_ALLOWED))
    try:
        for kept in settings.values():
            setting(kept, text=True)
    except (KeyError, TypeError, ValueError) as error:
        what = say("not the settings of a what-if")
        raise MachineCopyError(file, "settings", repr(settings), what, say(_ALLOWED)) from error
    return tuple(_sheet(sheet["name"], sheet["text"]) for sheet in sheets), settings


def _is_sheet(sheet: Any) -> bool:
    return isinstance(sheet, dict) and all(isinstance(sheet.get(k), str) for k in ("name", "text"))


@lru_cache(maxsize=64)
def _sheet(name: str, text: str) -> Sheet:
    """A sheet from its text; remembered, for a fleet shares its type sheets."""
    try:
        return Sheet(name, text.encode(), tomllib.loads(text))
    except (ValueError, RecursionError) as error:
        raise toml_error(name, text, error) from error
