"""A file of entries as a browser sends it: looked through, or brought in, and what to say of it."""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tripmargin.ground.errors import Problem, TripmarginError
from tripmargin.ground.languages import say, say_many
from tripmargin.records.exchange.csv_in import delimiter_of
from tripmargin.records.exchange.importing import ENDINGS, By, Imported, import_file
from tripmargin.records.exchange.troubles import ImportRefusedError
from tripmargin.records.keeping.machines import safe_name
from tripmargin.records.keeping.sizes import LARGEST_LOG_FILE

_AGAIN = "tripmargin log import FILE"


@dataclass(slots=True)
class Looked:
    """What was found in a file.

    Attributes
    ----------
    name : str
        The file's, as the browser said it.
    trouble : str
        What stands beside the file box; empty where all is well.
    found : Imported or None
        What it brought, or would bring.
    sha256 : str
        Of the file that was looked through.
    problems, more, unknown
        As `ImportRefusedError` has them.
    brought : bool
        Whether it is in the records now.
    """

    name: str = ""
    trouble: str = ""
    found: Imported | None = None
    sha256: str = ""
    problems: Sequence[Problem] = ()
    more: bool = False
    unknown: dict[str, int] = field(default_factory=dict)
    brought: bool = False

    @property
    def machines(self) -> list[tuple[str, int, int]]:
        """Each machine with its entries: new, and here already."""
        counted = self.found.by_machine if self.found else {}
        return sorted((name, new, there) for name, (new, there) in counted.items())

    @property
    def also(self) -> list[str]:
        """What comes besides entries, in words."""
        if self.found is None:
            return []
        found = self.found
        counted = (
            (
                found.machines,
                say_many("{count} new machine", "{count} new machines", found.machines),
            ),
            (
                found.versions,
                say_many(
                    "{count} new version of a file",
                    "{count} new versions of a file",
                    found.versions,
                ),
            ),
            (
                found.sheets,
                say_many("{count} new type sheet", "{count} new type sheets", found.sheets),
            ),
            (
                found.answers,
                say_many(
                    "{count} new fault-finding answer",
                    "{count} new fault-finding answers",
                    found.answers,
                ),
            ),
        )
        return [words for count, words in counted if count]


def look_into(upload: Any, *, bring: bool = False, seen: str = "", by: By | None = None) -> Looked:
    """Look a file through; bring it in where it is the one that was looked at before.

    The file lies in a folder that only the server's own account may open, and is gone when this
    returns: between looking and bringing in nothing is kept. So the browser sends the file twice,
    and `seen` holds the second to the first.

    Parameters
    ----------
    upload : UploadedFile or None
    bring : bool
    seen : str
        SHA-256 of the file that was looked at.
    by : By, optional
        Who brings it in.
    """
    if upload is None:
        return Looked(trouble=say("Choose a file first."))
    looked = Looked(name=str(upload.name))
    suffix = Path(looked.name).suffix.lower()
    looked.trouble = _not_worth_reading(upload, suffix)
    if looked.trouble:
        return looked
    with tempfile.TemporaryDirectory(prefix="tripmargin-") as folder:
        stem = safe_name(Path(looked.name).stem).removesuffix(".toml")
        path = Path(folder, f"{stem}{suffix}")
        looked.sha256 = _laid_down(upload, path)
        other = bring and looked.sha256 != seen
        try:
            looked.found = import_file(
                path,
                delimiter=delimiter_of(path) if suffix == ".csv" else ",",
                check_only=not bring or other,
                by=by,
                with_photos=False,
            )
        except ImportRefusedError as error:
            looked.problems, looked.more = error.problems, error.more
            looked.unknown = error.unknown
            looked.trouble = _refused(error)
        except TripmarginError as error:
            looked.trouble = str(error).replace("\n  ", "\n").replace(f"{path.name}: ", "")
        else:
            looked.brought = bring and not other
    if other and not looked.trouble:
        looked.trouble = say(
            "This is not the file that you looked at, so nothing was brought in."
            " Below is what this one would bring."
        )
    return looked


def _not_worth_reading(upload: Any, suffix: str) -> str:
    if suffix not in ENDINGS:
        return say(
            "Not a file of entries by its name.\nAllowed: a name that ends in .csv or .json."
        )
    if not upload.size:
        return say(
            "The file is empty.\nAllowed: a log as this page gives it, or a CSV of your own."
        )
    if upload.size > LARGEST_LOG_FILE:
        return say(
            "Too large: {size:.1f} MB.\nAllowed: at most {most:.0f} MB.\n"
            "Where the server runs, larger ones are taken by: {command}",
            size=upload.size / 1e6,
            most=LARGEST_LOG_FILE / 1e6,
            command=_AGAIN,
        )
    return ""


def _laid_down(upload: Any, path: Path) -> str:
    sha256 = hashlib.sha256()
    with path.open("xb") as file:
        for chunk in upload.chunks():
            sha256.update(chunk)
            file.write(chunk)
    return sha256.hexdigest()


def _refused(error: ImportRefusedError) -> str:
    count = len(error.problems)
    if error.more and count > 1:
        return say(
            "Nothing can be brought in from this file as it is: {count} things are to be mended,"
            " and maybe more: the first stand below.",
            count=count,
        )
    return say_many(
        "Nothing can be brought in from this file as it is: one thing is to be mended, below.",
        "Nothing can be brought in from this file as it is: {count} things are to be mended, all"
        " of them below.",
        count,
    )
