"""Gather what people read out of the code into the catalogues, and make them ready for use.

``update`` takes every sentence marked in the code into the ``*.po`` files of every language (what
was translated stays; what the code no longer says is dropped). ``compile`` makes the one file that
the program reads of them; ``add xx`` begins a language. ``check`` writes nothing and fails where
one of these is due. What is missing in a language is listed by ``missing xx``.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import click
from babel.messages.catalog import Catalog, Message
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from tools.said_in import (  # noqa: E402
    CALLS_OF_THE_COMMAND_LINE,
    Said,
    said_in_commands,
    said_in_machine_file,
    said_in_place_of_a_file,
    said_in_python,
    said_in_script,
    said_in_template,
)

SOURCE = ROOT / "src" / "tripmargin"
CATALOGUES = SOURCE / "ground" / "languages" / "catalogues"
# The web app's templates are read by Django, which wants its own file name and folders.
FOR_TEMPLATES = SOURCE / "web" / "locale"
TEMPLATES = "templates"
DEMO = "demo"
COMMAND_LINE = "click"  # what the library of the command line says by itself
_HEAD = "# Words of tripmargin. Written by people; `tools/catalogues.py` adds what is new."
_NO_DATE = datetime(2026, 1, 1, tzinfo=UTC)  # a date would change with every update


def gathered() -> dict[str, Catalog]:
    """What the code says, one catalogue for each room, and one for the templates."""
    rooms: dict[str, Catalog] = {}

    def add(room: str, path: Path, said: Iterator[Said]) -> None:
        inside = path.is_relative_to(ROOT / "src")
        where = path.relative_to(ROOT).as_posix() if inside else f"{path.parent.name}/{path.name}"
        for _line, message, context in said:
            into = rooms.setdefault(room, _new())
            into.add(message, locations=[(where, 0)], context=context)

    for path in sorted(SOURCE.rglob("*.py")):
        inside = path.relative_to(SOURCE).parts
        add(inside[0] if len(inside) > 1 else "ground", path, said_in_python(path))
        if inside[0] == "cli":
            add("cli", path, said_in_commands(path))
    for path in sorted(SOURCE.rglob("*.js")):
        add(path.relative_to(SOURCE).parts[0], path, said_in_script(path))
    for path in sorted((SOURCE / "web" / "templates").rglob("*.html")):
        add(TEMPLATES, path, said_in_template(path))
    for path in sorted((SOURCE / "machine" / "demo").glob("*.toml")):
        add(DEMO, path, said_in_machine_file(path))
    add(DEMO, SOURCE / "machine" / "own_words.py", said_in_place_of_a_file())
    for path in sorted(Path(click.__file__).parent.glob("*.py")):
        add(COMMAND_LINE, path, said_in_python(path, CALLS_OF_THE_COMMAND_LINE))
    return rooms


def written(catalogue: Catalog) -> bytes:
    """A catalogue as the text that is kept."""
    text = io.BytesIO()
    write_po(text, catalogue, width=100, include_lineno=False, sort_by_file=True,
             ignore_obsolete=True)  # fmt: skip
    return text.getvalue()


def updated(folder: Path, rooms: dict[str, Catalog]) -> dict[Path, bytes]:
    """What the ``*.po`` files of one language should hold now."""
    due = {}
    for room, said in rooms.items():
        path = folder / f"{room}.po"
        kept = read(path) if path.exists() else _new(folder.name)
        kept.update(said, no_fuzzy_matching=True)
        kept.creation_date = kept.revision_date = _NO_DATE
        due[path] = written(kept)
    return due


def read(path: Path) -> Catalog:
    """A ``*.po`` file.

    Raises
    ------
    PoFileError
        If it is not one.
    """
    with path.open("rb") as file:
        return read_po(file, locale=path.parent.name, abort_invalid=True)


def compiled(folder: Path) -> dict[Path, bytes]:
    """The files that the program and its templates read, of one language."""
    everything, templates, command_line = (_new(folder.name) for _ in range(3))
    others = {TEMPLATES: templates, COMMAND_LINE: command_line}
    for path in sorted(folder.glob("*.po")):
        into = others.get(path.stem, everything)
        for message in read(path):
            if message.id and message.string and not message.fuzzy:
                into.add(message.id, message.string, context=message.context)
    return {
        folder / "tripmargin.mo": _mo(everything),
        folder / "LC_MESSAGES" / "messages.mo": _mo(command_line),
        FOR_TEMPLATES / folder.name / "LC_MESSAGES" / "django.mo": _mo(templates),
    }


def missing(folder: Path, rooms: dict[str, Catalog]) -> list[str]:
    """What one language does not say yet."""
    left = []
    for room, said in rooms.items():
        path = folder / f"{room}.po"
        kept = read(path) if path.exists() else _new()
        for message in said:
            if message.id and not _translated(kept.get(message.id, message.context)):
                one = message.id if isinstance(message.id, str) else message.id[0]
                left.append(f"{room}: {one}")
    return left


def languages() -> list[Path]:
    """The folders of the languages."""
    return sorted(path.parent for path in CATALOGUES.glob("*/ground.po"))


def _translated(message: Message | None) -> bool:
    if message is None or message.fuzzy:
        return False
    return all(message.string) if isinstance(message.string, tuple) else bool(message.string)


def _mo(catalogue: Catalog) -> bytes:
    binary = io.BytesIO()
    write_mo(binary, catalogue)
    return binary.getvalue()


def _new(language: str | None = None) -> Catalog:
    made = Catalog(
        locale=language, project="tripmargin", version="1", fuzzy=False,
        header_comment=_HEAD, creation_date=_NO_DATE, revision_date=_NO_DATE,
        last_translator="the tripmargin authors", language_team="the tripmargin authors",
        msgid_bugs_address="see CONTRIBUTING.md",
    )  # fmt: skip
    return made


def main() -> int:
    """Do what was asked; 1 where `check` finds something due."""
    word, *more = sys.argv[1:] or ["update"]
    rooms = gathered()
    if word == "add":
        (CATALOGUES / more[0]).mkdir(parents=True, exist_ok=True)
        _write(updated(CATALOGUES / more[0], rooms))
    if word == "missing":
        left = missing(CATALOGUES / more[0], rooms)
        print("\n".join(left), f"\n{len(left)} are missing")
        return 0
    count_due = 0
    for folder in languages():
        if word in ("update", "add"):
            count_due += _write(updated(folder, rooms))
        elif word == "check":
            count_due += len(stale(updated(folder, rooms)))
        made = compiled(folder)
        count_due += len(stale(made)) if word == "check" else _write(made)
    count = sum(len(each) for each in rooms.values())
    print(f"{count} sentences, {len(languages())} languages, {count_due} files due or written")
    return 1 if word == "check" and count_due else 0


def stale(due: dict[Path, bytes]) -> list[Path]:
    return [path for path, text in due.items()
            if not path.exists() or path.read_bytes() != text]  # fmt: skip


def _write(due: dict[Path, bytes]) -> int:
    changed = stale(due)
    for path in changed:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(due[path])
    return len(changed)


if __name__ == "__main__":
    sys.exit(main())
