"""What a back-up says of itself."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from typing import Any

from django.db import connection
from django.db.migrations.loader import MigrationLoader

from tripmargin.ground.languages import say

WHAT, FORMAT = "tripmargin back-up", 1
NAME = "manifest.json"
LARGEST = 1_000_000  # bytes


@dataclass(frozen=True, slots=True)
class Table:
    """One table of a back-up: its name, its rows, and its file's length and SHA-256."""

    name: str
    rows: int
    size: int
    sha256: str

    @property
    def file(self) -> str:
        """Its file in the back-up."""
        return f"tables/{self.name}.jsonl"


@dataclass(frozen=True, slots=True)
class Manifest:
    """The head of a back-up.

    `schema` is the newest migration of the tables that it was made from, `program` the version of
    tripmargin that made it.
    """

    schema: str
    program: str
    made_at: str
    tables: tuple[Table, ...]

    @property
    def counts(self) -> dict[str, int]:
        """Rows by table."""
        return {table.name: table.rows for table in self.tables}

    def as_bytes(self) -> bytes:
        """As it stands in the file."""
        head = {"what": WHAT, "format": FORMAT}
        return (json.dumps(head | asdict(self), indent=1) + "\n").encode()


def manifest_from(content: bytes) -> Manifest:
    """The manifest of its text.

    Raises
    ------
    ValueError
        If it is none, or one of a newer format; the text says it for a person.
    """
    given: Any = json.loads(content)
    if not isinstance(given, dict) or given.get("what") != WHAT:
        raise ValueError(say("it is no back-up of tripmargin"))
    if given.get("format") != FORMAT:
        raise ValueError(
            say(
                "a newer version of tripmargin made it ({program}); use that",
                program=given.get("program"),
            )
        )
    try:
        tables = tuple(
            Table(str(one["name"]), int(one["rows"]), int(one["size"]), str(one["sha256"]))
            for one in given["tables"]
        )
        schema, program, made_at = (str(given[key]) for key in ("schema", "program", "made_at"))
        return Manifest(schema, program, made_at, tables)
    except (KeyError, TypeError) as error:
        raise ValueError(say("its manifest lacks {error}", error=error)) from error


def newest_schema() -> str:
    """The name of the newest migration that this program has."""
    ((_, name),) = MigrationLoader(connection).graph.leaf_nodes("records")
    return str(name)


def known_schemas() -> set[str]:
    """The names of all migrations of the records that this program has."""
    loader = MigrationLoader(connection)
    return {name for app, name in loader.disk_migrations if app == "records"}
