"""Recordings that a browser sent: in a private folder, for an hour, for whoever sent them."""

from __future__ import annotations

import json
import shutil
import time
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

from django.core.files.uploadedfile import UploadedFile
from django.http import Http404

from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say
from tripmargin.records.home import home

LARGEST = 60_000_000  # bytes; five minutes of stereo sound at 48 kHz
LASTS = 3600.0  # s
MOST = 5
"""Recordings of one person at a time; the oldest goes."""
_ABOUT = "about.json"


class UploadError(TripmarginError):
    """A recording that is not taken; the text says why and what to do."""


class GoneError(Http404):
    """A recording that is not here, or not any more, or not this person's: the three look alike."""


@dataclass(frozen=True, slots=True)
class Upload:
    """One recording: its id, the file, its folder."""

    uid: UUID
    path: Path

    @property
    def name(self) -> str:
        """As the person's own file is called, but for odd letters."""
        return self.path.name

    def forget(self) -> None:
        """Remove it."""
        shutil.rmtree(self.path.parent, ignore_errors=True)


def take(file: UploadedFile, *, person: Any, machine: UUID) -> Upload:
    """Keep a recording for an hour.

    Raises
    ------
    UploadError
        If it is empty or too large.
    """
    sweep()
    name = _safe(file.name or "")
    if not file.size:
        raise UploadError(
            say(
                "{name} is empty (0 bytes).\nAllowed: a sound or a logger's file.\n"
                "Was it saved whole? Choose it again.",
                name=name,
            )
        )
    if file.size > LARGEST:
        raise UploadError(
            say(
                "{name} has {size:.1f} MB.\nAllowed: at most {most:.0f} MB.\n"
                "Cut out the minute around the stop, or one minute of the quiet run; or read it on"
                " the command line (tripmargin read), which has no such limit.",
                name=name,
                size=file.size / 1e6,
                most=LARGEST / 1e6,
            )
        )
    uid = uuid4()
    folder = _of(person) / str(uid)
    folder.mkdir(mode=0o700, parents=True)
    with (folder / name).open("xb") as kept:
        for chunk in file.chunks():
            kept.write(chunk)
    (folder / _ABOUT).write_text(json.dumps({"machine": str(machine), "name": name}))
    for old in _newest_first(_of(person))[MOST:]:
        shutil.rmtree(old, ignore_errors=True)
    return Upload(uid, folder / name)


def upload_at(uid: UUID, *, person: Any, machine: UUID) -> Upload:
    """The recording of an address.

    Raises
    ------
    GoneError
        If there is none, it is somebody else's or of another machine, or its hour is over.
    """
    sweep()
    folder = _of(person) / str(uid)
    try:
        about = json.loads((folder / _ABOUT).read_text())
    except (OSError, ValueError):
        raise GoneError from None
    path = folder / str(about["name"])
    if about["machine"] != str(machine) or not path.is_file():
        raise GoneError
    return Upload(uid, path)


def sweep() -> None:
    """Remove what is older than an hour."""
    limit = time.time() - LASTS
    for person in _folders(_root()):
        for folder in _folders(person):
            if _since(folder) < limit:
                shutil.rmtree(folder, ignore_errors=True)


def _root() -> Path:
    return home() / "uploads"


def _of(person: Any) -> Path:
    return _root() / str(int(person.pk))


def _folders(folder: Path) -> Iterator[Path]:
    with suppress(OSError):
        yield from (each for each in folder.iterdir() if each.is_dir())


def _newest_first(folder: Path) -> list[Path]:
    return sorted(_folders(folder), key=_since, reverse=True)


def _since(folder: Path) -> float:
    try:
        return folder.stat().st_mtime
    except OSError:  # another process removed it just now
        return 0.0


def _safe(name: str) -> str:
    """A file's name without a folder and without odd letters; its ending stays.

    >>> _safe("../../Aufnahme vom Hof.wav"), _safe(""), _safe("about.json")
    ('Aufnahme-vom-Hof.wav', 'recording', 'recording-about.json')
    """
    last = name.replace("\\", "/").rpartition("/")[2]
    kept = "".join(c if c.isascii() and (c.isalnum() or c in "-_.") else "-" for c in last)
    stem, dot, ending = kept.strip("-.").rpartition(".")
    whole = f"{stem[:60]}{dot}{ending[:12]}" if dot else ending[:60]
    return f"recording-{whole}" if whole == _ABOUT else whole or "recording"
