"""Writing the records, or the entries alone, to a file for others to read."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import BinaryIO

from tripmargin.ground.languages import say
from tripmargin.records.exchange.csv_out import write_csv
from tripmargin.records.exchange.files import written_whole
from tripmargin.records.exchange.importing import ENDINGS
from tripmargin.records.exchange.json_out import write_json
from tripmargin.records.exchange.snapshots import snapshot
from tripmargin.records.home import RecordsError
from tripmargin.records.store.models import Machine


def export_file(
    path: Path,
    machines: Sequence[Machine] | None = None,
    *,
    photos: bool = False,
    over: bool = False,
) -> int:
    """Write entries as CSV, or everything about machines as JSON; how many entries there were.

    Parameters
    ----------
    path : Path
        Ends in .csv or .json.
    machines : sequence of Machine, optional
        All where None.
    photos : bool
        JSON alone: with the photos.
    over : bool
        Whether a file that is there may be written over.

    Raises
    ------
    RecordsError
        If the ending is another one, or the file is there already.
    """
    ending = path.suffix.lower()
    if ending not in ENDINGS:
        raise RecordsError(
            say("{name}: no such format.\n  Allowed: a name with .csv or .json.", name=path.name)
        )
    if photos and ending != ".json":
        raise RecordsError(say("CSV holds no photos.\n  Write JSON, or leave --photos out."))
    with written_whole(path, over=over) as file:
        return write_export(file, ending, machines, photos=photos)


def write_export(
    file: BinaryIO, ending: str, machines: Sequence[Machine] | None = None, *, photos: bool = False
) -> int:
    """Write the same to an open file; the ending, one of `ENDINGS`, says as what."""
    with snapshot():
        if ending == ".csv":
            return write_csv(file, machines)
        return write_json(file, machines, photos=photos)
