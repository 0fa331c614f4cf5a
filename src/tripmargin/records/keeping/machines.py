"""Machines in the records: their files as given, every version kept, copies that need no file."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from django.db import IntegrityError, transaction

from tripmargin.ground.errors import MachineFileError, Problem, TripmarginError, shortened
from tripmargin.ground.languages import later, say
from tripmargin.machine import Difference, copy_of, differences, digest_of, machine_from_copy
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.machine.files import LARGEST, read_sheets, tables_of
from tripmargin.machine.loading import demo_machines, demo_path, load_machine
from tripmargin.records.keeping.audit import note_change
from tripmargin.records.keeping.sizes import LONGEST_NAME, too_large, too_long
from tripmargin.records.standing.asked import loaded_of
from tripmargin.records.store.models import (
    Machine,
    MachineVersion,
    Person,
    TypeSheet,
    TypeSheetVersion,
)


class NameTakenError(TripmarginError, ValueError):
    """A machine of this name is there already."""


def read_machine_file(content: bytes, file_name: str) -> tuple[str, LoadedMachine]:
    """The text of an uploaded machine file, and the machine; its type sheets are the records' own.

    Raises
    ------
    MachineFileError
        With every problem, each with file, line and mend; also for a picture, an archive, a file
        too large.
    """
    name = safe_name(file_name)
    if len(content) > LARGEST:
        raise MachineFileError(
            [
                Problem(
                    name,
                    None,
                    "",
                    "",
                    say("{size:.1f} MB is too large", size=len(content) / 1e6),
                    say("a text file of at most 1 MB"),
                    say("Is this the right file?"),
                )
            ]
        )
    sheets = sheets_in_force()
    extends = _known_sheet(content, name, sheets)
    with tempfile.TemporaryDirectory(prefix="tripmargin-") as folder:
        lay_out(sheets, Path(folder))
        # A machine's file that is called as its type sheet is would take its place.
        path = Path(folder, f"own-{name}" if extends == name else name)
        path.write_bytes(content)
        try:
            loaded = load_machine(path)
        except MachineFileError as error:
            raise MachineFileError(
                [_without_folder(one, folder) for one in error.problems]
            ) from error
        text = content.decode("utf-8-sig")
        if large := [*too_long(tables_of(text), name), *too_large(loaded, name)]:
            raise MachineFileError(large)
        # Its file will be gone with the folder: the copy is made here, and the machine from it.
        copy = copy_of(loaded)
        if "\\u0000" in json.dumps(copy):
            raise MachineFileError(
                [
                    Problem(
                        name,
                        None,
                        "",
                        "",
                        say("it holds a zero character (\\u0000)"),
                        say("letters that can be read"),
                        say("Take it out."),
                    )
                ]
            )
        return text, machine_from_copy(copy)


def _known_sheet(content: bytes, name: str, sheets: Mapping[str, str]) -> str | None:
    """The type sheet that a file builds on; anything but one of the records is refused.

    A name such as "../secret" would else have the server read a file of its own and tell of it.
    """
    try:
        extends = tables_of(content.decode("utf-8-sig")).get("extends")
    except (ValueError, RecursionError):
        return None  # no TOML: reading it says so, and reads nothing else
    if not isinstance(extends, str):
        return None  # not a name: reading it says so
    if extends in sheets:
        return extends
    known = ", ".join(sheets) or say("none yet")
    raise MachineFileError(
        [
            Problem(
                name,
                None,
                "extends",
                f'"{shortened(extends)}"',
                say("the records hold no type sheet of this name"),
                say("a type sheet in the records: {known}", known=known),
                say("Add the type sheet first, then this file again."),
            )
        ]
    )


def _without_folder(problem: Problem, folder: str) -> Problem:
    """The same, without the folder, which nobody knows."""
    return replace(problem, hint=problem.hint.replace(f"{folder}/", ""))


def safe_name(file_name: str) -> str:
    """A file name without a folder, as any system takes it, that ends in .toml.

    >>> safe_name("../../etc/pass wd.toml"), safe_name("")
    ('pass-wd.toml', 'machine.toml')
    """
    stem = file_name.replace("\\", "/").rpartition("/")[2]
    stem = stem.removesuffix(".toml")
    kept = "".join(c if c.isascii() and (c.isalnum() or c in "-_.") else "-" for c in stem)
    return f"{kept.strip('-.')[:60] or 'machine'}.toml"


def add_machine(
    text: str, loaded: LoadedMachine, *, file_name: str = "", who: Person | None = None,
    who_name: str = "", note: str = "",
) -> Machine:  # fmt: skip
    """A new machine with its first version.

    Raises
    ------
    NameTakenError
        If there is one of this name.
    """
    name = loaded.name.strip()[:LONGEST_NAME]
    try:
        with transaction.atomic():
            machine = Machine.objects.create(name=name)
            note_change("machine added", name, who=who, who_name=who_name)
            _add_version(machine, text, loaded, file_name, who, who_name, note)
    except IntegrityError as error:
        raise NameTakenError(
            say(
                'A machine "{name}" is in the records already.\n  Open it and add a new'
                " version of its file, or change the name in [machine].",
                name=name,
            )
        ) from error
    return machine


def add_demo_machine(name: str, *, who: Person | None = None, who_name: str = "") -> Machine:
    """One of the invented machines, with its type sheet.

    Raises
    ------
    ValueError
        If there is no such demo machine.
    NameTakenError
        If it is in the records already.
    """
    if name not in demo_machines():
        raise ValueError(f"no demo machine {name!r}; there are: {', '.join(demo_machines())}")
    path = demo_path(name)
    with transaction.atomic():
        for sheet in read_sheets(path)[1:]:
            add_type_sheet(sheet.content, sheet.name, who=who, who_name=who_name)
        text, loaded = read_machine_file(path.read_bytes(), path.name)
        return add_machine(
            text,
            loaded,
            file_name=path.name,
            who=who,
            who_name=who_name,
            note=later("a demo machine"),
        )


def add_version(
    machine: Machine, text: str, loaded: LoadedMachine, *, file_name: str = "",
    who: Person | None = None, who_name: str = "", note: str = "",
) -> tuple[MachineVersion, bool]:  # fmt: skip
    """A new version of a machine's file, and whether it is new: the same content is kept once."""
    with transaction.atomic():
        Machine.objects.select_for_update().get(pk=machine.pk)
        newest = machine.versions.order_by("-number").first()
        if newest is not None and newest.digest == digest_of(copy_of(loaded)):
            return newest, False
        version = _add_version(machine, text, loaded, file_name, who, who_name, note)
        note_change(
            "version added",
            f"{machine.name}, version {version.number}",
            who=who,
            who_name=who_name,
        )
    return version, True


def _add_version(
    machine: Machine, text: str, loaded: LoadedMachine, file_name: str, who: Person | None,
    who_name: str, note: str,
) -> MachineVersion:  # fmt: skip
    from tripmargin.records.standing.refreshing import refresh

    newest = machine.versions.order_by("-number").first()
    copy = copy_of(loaded)
    version: MachineVersion = MachineVersion.objects.create(
        machine=machine,
        number=newest.number + 1 if newest else 1,
        file_name=safe_name(file_name or machine.name),
        text=text,
        copy=copy,
        digest=digest_of(copy),
        note=note,
        added_by=who,
        added_by_name=str(who) if who else who_name,
    )
    refresh(machine)
    return version


def machine_of(version: MachineVersion) -> LoadedMachine:
    """The machine of a version; a fleet's worth of them is remembered."""
    return loaded_of(version)


def compare(before: MachineVersion, after: MachineVersion) -> tuple[Difference, ...]:
    """What two versions give differently, field by field."""
    return tuple(differences(machine_of(before), machine_of(after)))


def sheets_in_force() -> Mapping[str, str]:
    """Name to text of the newest version of every type sheet.

    One whose name leads to a folder is left out, wherever it came from: it is no type sheet's.
    """
    found: dict[str, str] = {}
    for version in TypeSheetVersion.objects.select_related("sheet").order_by("number"):
        if safe_name(version.sheet.name) == version.sheet.name:
            found[version.sheet.name] = version.text
    return found


def lay_out(sheets: Mapping[str, str], folder: Path) -> None:
    """Type sheets as files of a folder, for the machine files that build on them.

    One that builds on something else than another of them is left out: it would have the server
    read a file of its own.
    """
    for name, text in sheets.items():
        try:
            above = tables_of(text.removeprefix("\ufeff")).get("extends")
        except (ValueError, RecursionError):
            above = None  # no TOML: whoever builds on it is told
        if not isinstance(above, str) or above in sheets:
            (folder / name).write_text(text, encoding="utf-8", newline="")


def add_type_sheet(
    content: bytes, file_name: str, *, who: Person | None = None, who_name: str = ""
) -> tuple[TypeSheetVersion, bool]:
    """A type sheet, or a new version of one, and whether it is new.

    Raises
    ------
    MachineFileError
        If it cannot be read, or does not hold together.
    """
    import hashlib

    name = safe_name(file_name)
    text, _ = read_machine_file(content, name)
    digest = hashlib.sha256(content).hexdigest()
    with transaction.atomic():
        sheet, _ = TypeSheet.objects.select_for_update().get_or_create(name=name)
        newest = sheet.versions.order_by("-number").first()
        if newest is not None and newest.digest == digest:
            return newest, False
        version = TypeSheetVersion.objects.create(
            sheet=sheet,
            number=newest.number + 1 if newest else 1,
            text=text,
            digest=digest,
            added_by_name=str(who) if who else who_name,
        )
        note_change(
            "type sheet",
            f"{name}, version {version.number}",
            who=who,
            who_name=who_name,
        )
    return version, True
