"""Taking a file of entries in: read twice, written in one transaction or not at all."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Protocol

from django.db import IntegrityError, transaction

from tripmargin.ground.languages import say
from tripmargin.records.exchange.cases_in import coming_cases
from tripmargin.records.exchange.checking import Checker, Places
from tripmargin.records.exchange.csv_in import CsvFile
from tripmargin.records.exchange.files import refuse_what_is_no_text
from tripmargin.records.exchange.incoming import Incoming
from tripmargin.records.exchange.json_in import JsonRecords
from tripmargin.records.exchange.machines_in import Coming, coming_machines, coming_sheets
from tripmargin.records.exchange.troubles import Troubles
from tripmargin.records.exchange.writing import Writer
from tripmargin.records.home import RecordsError
from tripmargin.records.keeping.audit import note_change
from tripmargin.records.store.models import Person

ENDINGS = (".csv", ".json")


class EntryFile(Protocol):
    """A file of entries, which is read twice."""

    sha256: str
    without_zone: int

    def entries(self) -> Iterator[Incoming]:
        """Its entries, from the first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Imported:
    """What an import brought, or would bring.

    Attributes
    ----------
    new, there : int
        Entries that are new, and those that were there already.
    machines, versions, sheets : int
        New machines; new versions of machines and of type sheets together; new type sheets.
    photos : int
        New photos; with a look alone, those in the file.
    answers : int
        New answers of fault-finding cases.
    without_zone : int
        Times without a zone, which were read as this computer's.
    by_machine : mapping
        The machine's name to its entries: new, and there already.
    """

    new: int
    there: int
    machines: int = 0
    versions: int = 0
    sheets: int = 0
    photos: int = 0
    answers: int = 0
    without_zone: int = 0
    by_machine: Mapping[str, tuple[int, int]] = field(default_factory=dict, compare=False)

    @property
    def nothing_new(self) -> bool:
        """Whether all of it is here already."""
        return not (self.new or self.machines or self.versions or self.sheets or self.answers)


@dataclass(frozen=True, slots=True, kw_only=True)
class By:
    """Who imports, for the audit: a person, or a name alone; and from which address."""

    who: Person | None = None
    name: str = ""
    address: str = ""


def import_file(
    path: Path,
    *,
    delimiter: str = ",",
    check_only: bool = False,
    by: By | None = None,
    with_photos: bool = True,
) -> Imported:
    """Take a CSV or JSON file in, or only look whether it could be.

    Parameters
    ----------
    path : Path
        Ends in .csv or .json.
    delimiter : str
        Of CSV. With ";" the decimal sign may be a comma.
    check_only : bool
    by : By, optional
    with_photos : bool
        Whether a JSON file may bring photos: to look into them takes its time.

    Raises
    ------
    ImportRefusedError
        With everything that is wrong, up to fifty problems. Nothing was written.
    RecordsError
        If it is no such file at all, or changed while it was read.
    """
    if path.suffix.lower() not in ENDINGS:
        raise RecordsError(
            say("{name}: not a file that can be read.\n  Allowed: .csv, .json.", name=path.name)
        )
    refuse_what_is_no_text(path)
    troubles = Troubles(path.name)
    file: EntryFile
    machines: dict[str, Coming] = {}
    sheets: list[Coming] = []
    others: Mapping[str, Any] = {}
    if path.suffix.lower() == ".json":
        file = records = JsonRecords(path, troubles)
        others = records.others()
        sheets = coming_sheets(others["type_sheets"], troubles)
        machines = coming_machines(others["machines"], troubles)
    else:
        file = CsvFile(path, troubles, delimiter)
    places = Places(machines)
    cases = coming_cases(others.get("cases", ()), places, troubles)
    checker = Checker(places, troubles, with_photos=with_photos)
    checker.look_through(file.entries())
    coming = [*sheets, *machines.values()]
    counted: dict[str, Any] = {
        "machines": sum(one.new for one in machines.values()),
        "versions": sum(len(one.versions) for one in coming),
        "answers": sum(len(one.lines) for one in cases),
        "sheets": sum(one.new for one in sheets),
        "without_zone": file.without_zone,
    }
    looked: dict[str, Any] = counted | {"by_machine": checker.by_machine}
    if check_only:
        return Imported(new=checker.new, there=checker.there, photos=checker.photos, **looked)
    looked_at = file.sha256
    try:
        with transaction.atomic():
            for one in coming:
                one.write()
            writer = Writer(checker, machines)
            writer.write(file.entries())
            for case in cases:
                case.write()
            if file.sha256 != looked_at:
                raise RecordsError(
                    say(
                        "{name}: the file changed while it was read. Nothing was written.\n "
                        " Close the program that writes it, and import it again.",
                        name=path.name,
                    )
                )
            made = Imported(new=writer.new, there=writer.there, photos=writer.photos, **looked)
            if made.photos or not made.nothing_new:
                by = by or By()
                note_change("import", path.name, who=by.who, who_name=by.name, address=by.address,
                            entries=made.new, sha256=looked_at, **counted)  # fmt: skip
    except IntegrityError as error:
        raise RecordsError(
            say(
                "{name}: somebody else wrote the same at the same moment. Nothing was"
                " written.\n  Import it again: what is there already is left as it is.",
                name=path.name,
            )
        ) from error
    return made
