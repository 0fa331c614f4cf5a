"""Entries, machines and type sheets from a JSON file."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tripmargin.ground.errors import shortened
from tripmargin.ground.languages import say
from tripmargin.records.exchange.cells import one_way
from tripmargin.records.exchange.incoming import Incoming, bad_letters
from tripmargin.records.exchange.items import Item
from tripmargin.records.exchange.json_out import FORMAT, WHAT
from tripmargin.records.exchange.json_stream import Found, JsonFile
from tripmargin.records.exchange.troubles import Troubles
from tripmargin.records.keeping.photos import MOST as MOST_PHOTOS
from tripmargin.records.keeping.sizes import LONGEST_KEY
from tripmargin.records.kinds import KINDS, Wrong
from tripmargin.records.kinds.fields import LONGEST_TEXT
from tripmargin.records.kinds.reading import MOST_VALUES

LISTS = ("type_sheets", "machines", "entries", "cases")
ENTRY = (
    "uid", "machine", "kind", "at", "received_at", "clock_ahead_s", "who", "values", "note",
    "corrects", "version", "source", "photos",
)  # fmt: skip


class JsonRecords:
    """A JSON file of records; `sha256` is that of what was read last."""

    without_zone = 0  # a time without one is refused here

    def __init__(self, path: Path, troubles: Troubles) -> None:
        self.troubles = troubles
        self._file = JsonFile(path, troubles)
        self.sha256 = ""

    def others(self) -> dict[str, list[tuple[int, Any]]]:
        """Machines, type sheets and cases, each with its line: what the entries need is among them.

        The whole file is read, for they may stand behind the entries.
        """
        found: dict[str, list[tuple[int, Any]]] = {"type_sheets": [], "machines": [], "cases": []}
        head: dict[str, Any] = {}
        for one in self._file.items():
            if one.key in found and one.in_list:
                found[one.key].append((one.line, one.item))
            elif not one.in_list:
                head[one.key] = one.item
                self._check_top(one)
            elif one.key not in LISTS:
                self._no_such(one)
        if head.get("tripmargin") != WHAT or "format" not in head:
            self.troubles.stop(
                None,
                say("not the records of tripmargin"),
                say(
                    'an object with "tripmargin": "{what}", "format": {format}, {lists}',
                    what=WHAT,
                    format=FORMAT,
                    lists=", ".join(LISTS),
                ),
                say("A machine's file is put in by: tripmargin log take FILE."),
            )
        self.troubles.raise_if_any()
        return found

    def entries(self) -> Iterator[Incoming]:
        """The entries."""
        for one in self._file.items():
            if one.key == "entries" and one.in_list:
                yield self._entry(one)
        self.sha256 = self._file.sha256

    def _check_top(self, one: Found) -> None:
        if one.key == "format" and one.item != FORMAT:
            newer = isinstance(one.item, int) and one.item > FORMAT
            self.troubles.stop(
                one.line,
                say("written by a newer version") if newer else say("no such format"),
                f'"format": {FORMAT}',
                say("Read it with that version.") if newer else "",
            )
        if one.key in LISTS:
            self.troubles.note(one.line, [Wrong(one.key, "", say("not a list"), say("a list"))])
        elif one.key not in ("tripmargin", "format"):
            self._no_such(one)

    def _no_such(self, one: Found) -> None:
        self.troubles.stop(
            one.line,
            say('"{key}": no such name at the top of the file', key=shortened(one.key)),
            ", ".join(("tripmargin", "format", *LISTS)),
        )

    def _entry(self, one: Found) -> Incoming:
        item = Item(one.item, ENTRY)
        kind = item.text("kind", 20, needed=True)
        made = Incoming(
            line=one.line,
            machine=item.text("machine", 100, needed=True),
            kind=kind,
            at=item.moment("at", needed=True),
            received_at=item.moment("received_at"),
            clock_ahead_s=item.number("clock_ahead_s"),
            who=item.text("who", 60),
            values=_values(kind, item),
            note=item.text("note", LONGEST_TEXT),
            uid=item.uid("uid"),
            corrects=item.uid("corrects"),
            version=item.whole("version"),
            source=item.text("source", 20) or "import",
            photos=item.many("photos", MOST_PHOTOS),
        )
        made.wrong = item.wrong
        return made


def _values(name: str, item: Item) -> dict[str, Any]:
    kind = KINDS.get(name)
    made: dict[str, Any] = {}
    given = item.table("values")
    if len(given) > MOST_VALUES:
        allowed = say("at most {most}", most=MOST_VALUES)
        item.wrong.append(Wrong("values", str(len(given)), say("too many values"), allowed))
        return made
    for key, value in given.items():
        texts = (key, value) if isinstance(value, str) else (key,)
        bad = [wrong for text in texts if (wrong := bad_letters("values", text))]
        if len(key) > LONGEST_KEY:
            bad.append(
                Wrong(
                    "values",
                    key,
                    say("too long a name"),
                    say("at most {most} letters", most=LONGEST_KEY),
                )
            )
        item.wrong += bad
        if not bad:
            made[key] = one_way(kind.field_of(key) if kind else None, value)
    return made
