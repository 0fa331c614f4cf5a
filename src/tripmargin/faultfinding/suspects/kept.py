"""What was worked out for a machine, kept in a folder: numbers and words, nothing that runs.

To take a machine with every fault through every state takes seconds, and a person who records one
finding after the other from a command line would wait for it each time. A file is found by all that
it depends on: the machine, the faults, the program that worked it out. What cannot be read is
worked out anew; what cannot be written is not kept.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import tempfile
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any
from zipfile import BadZipFile

import numpy as np
from numpy.typing import NDArray

from tripmargin.circuit import FaultTable

MOST = 8
"""Files that are kept, the newest; each takes 2 to 5 MB."""
LEFT = 3600.0
"""s. A half-written file older than this is nobody's any more."""
_ENDING, _OHMS = ".npz", "ohms: "
_SAME = ("faults", "columns", "nodes", "fuses")
_folder: Path | None = None


def keep_in(folder: str | os.PathLike[str] | None) -> None:
    """Keep what is worked out from now on in a folder; None: keep nothing, as at first."""
    global _folder  # one setting of one program, made at its start
    _folder = None if folder is None else Path(folder)


def name_of(*parts: object) -> str:
    """The name under which something is kept that depends on these, and on this program."""
    told = "\n".join((_program(), *(repr(part) for part in parts)))
    return hashlib.sha256(told.encode()).hexdigest()[:32]


@cache
def _program() -> str:
    """A digest of the source that works the tables out."""
    import tripmargin.circuit

    rooms = (Path(tripmargin.circuit.__file__).parent, Path(__file__).parent)
    found = hashlib.sha256(np.__version__.encode())
    for room in rooms:
        for file in sorted(room.glob("*.py")):
            found.update(file.read_bytes())
    return found.hexdigest()


@dataclass(frozen=True, slots=True)
class Kept:
    """Fault tables of one network, and what an ohmmeter reads by look; nothing where not kept."""

    tables: tuple[FaultTable, ...] = ()
    readings: Mapping[str, NDArray[np.float64]] = field(default_factory=dict)


def fetched(name: str, count: int) -> Kept:
    """What was kept under a name: so many tables, or nothing where it cannot be read."""
    if _folder is None:
        return Kept()
    try:
        with (
            (_folder / f"{name}{_ENDING}").open("rb") as raw,
            np.load(raw, allow_pickle=False) as file,
        ):
            arrays = {key: file[key] for key in file.files}
        readings = {key.removeprefix(_OHMS): arrays[key] for key in arrays if _OHMS in key}
        return Kept(_tables(arrays, count), readings)
    except (OSError, ValueError, LookupError, EOFError, BadZipFile):
        return Kept()


def keep(name: str, kept: Kept) -> None:
    """Keep tables and readings under a name, whole or not at all, and let go of the oldest."""
    if _folder is None:
        return
    arrays = _arrays(kept.tables) | {f"{_OHMS}{key}": kept.readings[key] for key in kept.readings}
    with contextlib.suppress(OSError):
        _folder.mkdir(parents=True, exist_ok=True)
        handle, made = tempfile.mkstemp(dir=_folder, suffix=".part")
        try:
            with os.fdopen(handle, "wb") as file:
                np.savez_compressed(file, allow_pickle=False, **arrays)
            Path(made).replace(_folder / f"{name}{_ENDING}")
        except BaseException:
            Path(made).unlink(missing_ok=True)
            raise
        _let_go(_folder)


def _let_go(folder: Path) -> None:
    """Remove the oldest files, and what a program that was killed left half written."""
    for part in folder.glob("*.part"):
        if time.time() - part.stat().st_mtime > LEFT:
            part.unlink(missing_ok=True)
    files = sorted(folder.glob(f"*{_ENDING}"), key=lambda file: file.stat().st_mtime)
    for file in files[:-MOST]:
        file.unlink(missing_ok=True)


def _arrays(tables: Sequence[FaultTable]) -> dict[str, NDArray[Any]]:
    """Fault tables of one network as arrays; words as numbers into one list of them."""
    found: dict[str, NDArray[Any]] = {
        name: np.array(getattr(tables[0], name), str) for name in _SAME
    }
    every = np.unique(np.concatenate([np.unique(table.words) for table in tables]))
    found["words"] = every
    for k, table in enumerate(tables):
        found[f"{k} steps"] = np.array(table.steps, str)
        found[f"{k} words"] = np.searchsorted(every, table.words).astype(np.uint16)
        found[f"{k} volts"], found[f"{k} chatters"] = table.volts, table.chatters
        found[f"{k} blown"] = table.blown
    return found


def _tables(arrays: Mapping[str, NDArray[Any]], count: int) -> tuple[FaultTable, ...]:
    """The first so many fault tables from their arrays. Raises LookupError where one is missing."""
    same = {name: tuple(str(word) for word in arrays[name]) for name in _SAME}
    return tuple(
        FaultTable(
            steps=tuple(str(step) for step in arrays[f"{k} steps"]),
            words=arrays["words"][arrays[f"{k} words"]],
            volts=arrays[f"{k} volts"],
            chatters=arrays[f"{k} chatters"],
            blown=arrays[f"{k} blown"],
            **same,
        )
        for k in range(count)
    )
