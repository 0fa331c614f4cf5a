"""What a phone card brings back: entries of one machine, under the name of whoever brings them."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tripmargin.ground.errors import TripmarginError, shortened
from tripmargin.ground.languages import say, say_many
from tripmargin.ground.languages.lists import listed
from tripmargin.records.exchange.codes_in import PHOTOS, TEXTS, records_of
from tripmargin.records.exchange.importing import By, import_file
from tripmargin.records.store.models import Machine, Person
from tripmargin.reports.card.form_data import ASKED

LARGEST, MOST_FILES = 20_000_000, 200  # bytes of each file
LISTS = {"tripmargin", "format", "entries", "cases"}
_MINE = ("corrects", "received_at", "version", "photos", "clock_ahead_s")
"""What no form of the log lets anybody say of an entry, so a card does not either."""


@dataclass(frozen=True, slots=True)
class Brought:
    """What became of it, in words."""

    words: str = ""
    trouble: str = ""


def bring_in(machine: Machine, uploads: Sequence[Any], *, by: Person) -> Brought:
    """Take in a card's file, or photos or texts of its codes. All of it or nothing, and once.

    Parameters
    ----------
    machine : Machine
        The entries of another one are refused.
    uploads : sequence of UploadedFile
    by : Person
        In whose name all of it is kept, whatever name stands in the card.
    """
    if not uploads:
        return Brought(trouble=say("Choose the card's file, or photos of its codes."))
    if len(uploads) > MOST_FILES:
        words = say("{count} files. Allowed: at most {most}.", count=len(uploads), most=MOST_FILES)
        return Brought(trouble=words)
    with tempfile.TemporaryDirectory(prefix="tripmargin-") as folder:
        try:
            made = _whole([_laid_down(each, Path(folder), k) for k, each in enumerate(uploads)])
            path = Path(folder, "card.json")
            path.write_text(json.dumps(_mine(made, machine, str(by))), "utf-8")
            found = import_file(path, by=By(who=by), with_photos=False)
        except TripmarginError as error:
            return Brought(trouble=str(error).replace("\n  ", "\n"))
    if found.nothing_new:
        return Brought(words=say("All of it is here already. Nothing was added."))
    said = []
    if found.new:
        said.append(say_many("{count} new entry", "{count} new entries", found.new))
    if found.answers:
        said.append(
            say_many(
                "{count} new answer to what is wrong",
                "{count} new answers to what is wrong",
                found.answers,
            )
        )
    return Brought(
        words=say(
            "From the card: {brought}. Say on the card that it arrived.", brought=listed(said)
        )
    )


class CardError(TripmarginError, ValueError):
    """What was sent is not what a card of this machine brings back."""


def _laid_down(upload: Any, folder: Path, k: int) -> Path:
    name = str(upload.name)
    suffix = Path(name).suffix.lower()
    if suffix not in (".json", *PHOTOS, *TEXTS):
        allowed = ", ".join((".json", *PHOTOS, *TEXTS))
        raise CardError(
            say(
                "{name}: not what a card brings back. Allowed: {allowed}.",
                name=shortened(name),
                allowed=allowed,
            )
        )
    if upload.size > LARGEST:
        raise CardError(
            say(
                "{name}: too large. Allowed: {most:.0f} MB at most.",
                name=shortened(name),
                most=LARGEST / 1e6,
            )
        )
    path = folder / f"{k}{suffix}"
    with path.open("wb") as file:
        for chunk in upload.chunks():
            file.write(chunk)
    return path


def _whole(paths: Sequence[Path]) -> bytes:
    """The card's JSON file: itself, or from its codes."""
    if len(paths) == 1 and paths[0].suffix == ".json":
        return paths[0].read_bytes()
    if any(path.suffix == ".json" for path in paths):
        raise CardError(say("One file of the card at a time, or photos and texts of its codes."))
    return records_of(paths)


def _mine(made: bytes, machine: Machine, who: str) -> dict[str, Any]:
    """The same with this person's name on it; what is not a card's of this machine is refused."""
    try:
        given = json.loads(made)
    except (ValueError, RecursionError) as error:
        raise CardError(say("Not a file that a card saves: it is no JSON.")) from error
    if not isinstance(given, dict) or given.get("tripmargin") != "records":
        raise CardError(say("Not a file that a card saves."))
    if more := sorted(set(given) - LISTS):
        raise CardError(
            say(
                "It holds {more}, which no card does.\n"
                "An owner brings other files in on the page “The log as a file”.",
                more=shortened(", ".join(more)),
            )
        )
    for name in ("entries", "cases"):
        for one in given.get(name) or ():
            if not isinstance(one, dict):
                raise CardError(
                    say("Not a file that a card saves: {name} are no objects.", name=name)
                )
            if one.get("machine") != machine.name:
                seen = shortened(str(one.get("machine", "")))
                raise CardError(
                    say(
                        'It is of the machine "{seen}", not of {machine}.\n'
                        "Bring it in on that machine's page.",
                        seen=seen,
                        machine=machine.name,
                    )
                )
            if name == "entries" and one.get("kind") not in ASKED:
                seen = shortened(str(one.get("kind", "")))
                raise CardError(say('"{seen}" is no entry that a card makes.', seen=seen))
            for key in _MINE:
                one.pop(key, None)
            one["who"] = who
            if name == "entries":
                one["source"] = "card"
    return given
