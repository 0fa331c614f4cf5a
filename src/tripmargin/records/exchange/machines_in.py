"""Machines and type sheets of a JSON file: checked first, written when all is well."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from tripmargin.ground.errors import Problem, TripmarginError, shortened
from tripmargin.ground.languages import say
from tripmargin.machine import digest_of, machine_from_copy
from tripmargin.machine.files import LARGEST
from tripmargin.records.exchange.items import Item
from tripmargin.records.exchange.troubles import Troubles
from tripmargin.records.keeping.copy_sizes import copy_troubles, text_troubles
from tripmargin.records.keeping.machines import safe_name
from tripmargin.records.keeping.sizes import LONGEST_NAME, too_large
from tripmargin.records.kinds import Wrong
from tripmargin.records.store.models import Machine, MachineVersion, TypeSheet, TypeSheetVersion

MOST_VERSIONS = 10_000
_MACHINE = ("uid", "name", "created_at", "put_away_at", "versions")
_VERSION = ("number", "file_name", "text", "copy", "digest", "note", "added_at", "added_by")
_SHEET = ("name", "versions")
_SHEET_VERSION = ("number", "text", "digest", "added_at", "added_by")


@dataclass(slots=True)
class Coming:
    """A machine or a type sheet of a file: the row that is there, and what will be added to it."""

    name: str
    row: Any  # Machine or TypeSheet; not saved yet where it is new
    versions: list[Any] = field(default_factory=list)  # new ones, not saved yet
    numbers: set[int] = field(default_factory=set)

    @property
    def new(self) -> bool:
        """Whether it is not in the records yet."""
        return self.row.pk is None

    def write(self) -> None:
        """Add it, and its new versions."""
        if self.new:
            self.row.save(force_insert=True)
        for version in self.versions:
            setattr(version, "sheet" if isinstance(self.row, TypeSheet) else "machine", self.row)
            version.save(force_insert=True)


def coming_machines(items: Sequence[tuple[int, Any]], troubles: Troubles) -> dict[str, Coming]:
    """The machines of a file by their names there; what is wrong goes to `troubles`."""
    found: dict[str, Coming] = {}
    here = {one.uid: one for one in Machine.objects.all()}
    taken = {str(one.name).casefold(): one for one in here.values()}
    for line, given in items:
        item = Item(given, _MACHINE)
        uid = item.uid("uid", needed=True)
        name = item.text("name", LONGEST_NAME, needed=True)
        row = _machine_row(item, uid, name, here, taken)
        if name in found:
            item.wrong.append(
                Wrong("name", name, say("there twice in the file"), say("each machine once"))
            )
        coming = Coming(name, row)
        _add_versions(item, coming, _machine_version)
        troubles.note(line, item.wrong)
        found[name] = coming
        taken.setdefault(name.casefold(), row)
    return found


def coming_sheets(items: Sequence[tuple[int, Any]], troubles: Troubles) -> list[Coming]:
    """The type sheets of a file; what is wrong goes to `troubles`."""
    found: dict[str, Coming] = {}
    here = {one.name: one for one in TypeSheet.objects.all()}
    for line, given in items:
        item = Item(given, _SHEET)
        name = item.text("name", LONGEST_NAME, needed=True)
        if name in found:
            item.wrong.append(
                Wrong("name", name, say("there twice in the file"), say("each sheet once"))
            )
        elif name and safe_name(name) != name:
            # It becomes the name of a file when a machine that builds on it is read.
            allowed = say('letters, digits and "-_.", such as "{name}"', name=safe_name(name))
            item.wrong.append(Wrong("name", name, say("not the name of a type sheet"), allowed))
        found[name] = Coming(name, here.get(name) or TypeSheet(name=name))
        _add_versions(item, found[name], _sheet_version)
        troubles.note(line, item.wrong)
    return list(found.values())


def _machine_row(
    item: Item, uid: UUID | None, name: str, here: dict[UUID, Machine], taken: dict[str, Machine]
) -> Machine:
    if uid in here:
        return here[uid]
    other = taken.get(name.casefold())
    if other is not None:
        item.wrong.append(
            Wrong(
                "name",
                name,
                say("another machine of this name is there"),
                say("a name of its own"),
                say(
                    "Are the two one machine? Then import its entries as CSV, which goes by"
                    " the name."
                ),
            )
        )
    row = Machine(name=name, put_away_at=item.moment("put_away_at"))
    row.uid = uid or row.uid
    row.created_at = item.moment("created_at") or row.created_at
    return row


def _add_versions(item: Item, coming: Coming, read: Any) -> None:
    """Those that are new, numbered on from those that are there; the others must be the same."""
    kept = {} if coming.new else {one.number: one.digest for one in coming.row.versions.all()}
    next_number = max(kept, default=0) + 1
    seen = 0
    for place, given in enumerate(item.many("versions", MOST_VERSIONS)):
        where = f"versions[{place}]."
        version, wrong = read(given, where)
        number = version.number or 0
        if not wrong and number <= seen:
            wrong = [
                Wrong(
                    f"{where}number",
                    str(number),
                    say("not in order"),
                    "1, 2, 3, ...",
                )
            ]
        elif not wrong and number in kept and kept[number] != version.digest:
            wrong = [
                Wrong(
                    f"{where}number",
                    str(number),
                    say("version {number} is another one here", number=number),
                    say("the version that is here, or the next number"),
                )
            ]
        elif not wrong and number not in kept and number != next_number:
            wrong = [
                Wrong(
                    f"{where}number",
                    str(number),
                    say("a version before it is missing"),
                    say("number {next_number}", next_number=next_number),
                )
            ]
        item.wrong += wrong
        seen = max(seen, number)
        if not wrong and number not in kept:
            coming.versions.append(version)
            next_number += 1
    if not item.given.get("versions"):
        item.wrong.append(
            Wrong("versions", "", say("needed, and not there"), say("at least one version"))
        )
    coming.numbers = {*kept, *(one.number for one in coming.versions)}


def _machine_version(given: Any, where: str) -> tuple[MachineVersion, list[Wrong]]:
    item = Item(given, _VERSION, where)
    version = MachineVersion(
        number=item.whole("number", needed=True),
        file_name=item.text("file_name", 100, needed=True),
        text=item.text("text", LARGEST),
        copy=item.table("copy"),
        digest=item.text("digest", 64, needed=True),
        note=item.text("note", 500),
        added_by_name=item.text("added_by", 60),
    )
    version.added_at = item.moment("added_at") or version.added_at
    if not item.wrong:
        item.wrong += _wrong_copy(version, where)
    return version, item.wrong


def _wrong_copy(version: MachineVersion, where: str) -> list[Wrong]:
    large = copy_troubles(version.copy)
    if large:
        return _as_wrong(large, f"{where}copy")
    try:
        machine = machine_from_copy(version.copy)
        if digest_of(version.copy) == version.digest:
            return _as_wrong(too_large(machine, ""), f"{where}copy")
        return [
            Wrong(
                f"{where}digest",
                version.digest,
                say("not that of the copy"),
                say("the digest that was exported"),
                say("Was the file changed by hand?"),
            )
        ]
    except TripmarginError as error:
        first = shortened(str(error).splitlines()[0], 200)
    except (TypeError, ValueError, LookupError, AttributeError, ArithmeticError, RecursionError):
        first = say(
            "its settings are none of a machine"
        )  # those of a what-if may be anything at all
    return [
        Wrong(
            f"{where}copy",
            "",
            say("no machine can be read from it: {first}", first=first),
            say("a copy as it was exported"),
        )
    ]


def _as_wrong(problems: Sequence[Problem], where: str) -> list[Wrong]:
    """What is wrong inside a text, at the key that holds it."""
    return [Wrong(where, one.value, f"{one.field}: {one.problem}", one.allowed, one.hint)
            for one in problems]  # fmt: skip


def _sheet_version(given: Any, where: str) -> tuple[TypeSheetVersion, list[Wrong]]:
    item = Item(given, _SHEET_VERSION, where)
    version = TypeSheetVersion(
        number=item.whole("number", needed=True),
        text=item.text("text", LARGEST, needed=True),
        digest=item.text("digest", 64, needed=True),
        added_by_name=item.text("added_by", 60),
    )
    version.added_at = item.moment("added_at") or version.added_at
    if not item.wrong:
        content = version.text.encode()
        # The digest is that of the file, which may have begun with a byte order mark.
        fits = (hashlib.sha256(start + content).hexdigest() for start in (b"", b"\xef\xbb\xbf"))
        if version.digest not in fits:
            item.wrong.append(
                Wrong(
                    f"{where}digest",
                    version.digest,
                    say("not that of the text"),
                    say("the digest that was exported"),
                )
            )
        else:
            item.wrong += _as_wrong(text_troubles(version.text, say("the sheet")), f"{where}text")
    return version, item.wrong
