"""What every `tripmargin report` command shares: where to, which paper, whose name, what time."""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tripmargin.cli.log_opening import LONGEST_WHO, time_of
from tripmargin.cli.output import json_text
from tripmargin.ground.errors import shortened
from tripmargin.ground.languages import say, say_many

if TYPE_CHECKING:
    from tripmargin.reports.paper import Document

SAVED_AS = (".pdf", ".html")


@dataclass(frozen=True, slots=True)
class Writing:
    """How a person wants the report."""

    saves: tuple[Path, ...]
    paper: str
    by: str
    made: datetime
    us: bool
    as_json: bool

    def write(self, document: Document, default: str) -> None:
        """Write the report under every name asked for, or under its own; or print its numbers."""
        if self.as_json:
            click.echo(json_text(document))
        named = () if self.as_json else (Path(f"{default}.pdf"),)
        for path in self.saves or named:
            content = _content(document, path)
            _write(path, content)
            click.echo(_saved(path, content), err=self.as_json)


def report_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """`--save`, `--paper`, `--who`, `--at`, `--us`, `--json`, handed over as `writing`."""

    @click.option(
        "--save",
        "saves",
        metavar="FILE",
        multiple=True,
        type=click.Path(dir_okay=False, path_type=Path),
        callback=_checked,
        help="Where to: .pdf or .html; may be given several times. Default: a PDF in this folder.",
    )
    @click.option(
        "--paper",
        type=click.Choice(("a4", "letter")),
        default="a4",
        show_default=True,
        help="The sheet of the PDF.",
    )
    @click.option("--who", default="", metavar="NAME", callback=_name, help="Who makes the report.")
    @click.option(
        "--at", metavar="TIME", help="The time that stands on it, ISO 8601. Default: now."
    )
    @click.option("--us", is_flag=True, help="US units instead of metric.")
    @click.option("--json", "as_json", is_flag=True, help="Print the report's numbers, in SI.")
    @functools.wraps(command)
    def with_writing(
        *args: Any,
        saves: tuple[Path, ...],
        paper: str,
        who: str,
        at: str | None,
        us: bool,
        as_json: bool,
        **more: Any,
    ) -> Any:
        made = datetime.now().astimezone() if at is None else time_of(at, "--at")
        made = made.replace(microsecond=0)
        return command(*args, writing=Writing(saves, paper, who, made, us, as_json), **more)

    return with_writing


def plain_name(name: str) -> str:
    """A name that every system takes for a file."""
    return "".join(c if c.isalnum() else "-" for c in name).strip("-").lower()[:60] or "machine"


def _content(document: Document, path: Path) -> bytes:
    if path.suffix.lower() == ".pdf":
        from tripmargin.reports.paper.typesetting import pdf_of

        return pdf_of(document)
    from tripmargin.reports.paper.page import html_of

    return html_of(document).encode()


def _saved(path: Path, content: bytes) -> str:
    """That a report was saved, and how long it is, so that nobody prints a book unawares."""
    kilo = len(content) / 1000
    if path.suffix.lower() != ".pdf":
        return say("Saved: {path} ({kilo:.0f} kB).", path=path, kilo=kilo)
    from tripmargin.reports.paper.reading import pages_in

    return say_many(
        "Saved: {path} ({count} page, {kilo:.0f} kB).",
        "Saved: {path} ({count} pages, {kilo:.0f} kB).",
        pages_in(content),
        path=path,
        kilo=kilo,
    )


def _write(path: Path, content: bytes) -> None:
    from tripmargin.pictures.save import write_whole

    write_whole(path, content)


def _checked(_: click.Context, __: click.Parameter, paths: tuple[Path, ...]) -> tuple[Path, ...]:
    """Refused before the work, not after it."""
    for path in paths:
        if path.suffix.lower() not in SAVED_AS:
            raise click.BadParameter(
                say("{name} must end in {endings}.", name=path.name, endings=", ".join(SAVED_AS))
            )
        if not path.parent.is_dir():
            raise click.BadParameter(say("there is no folder {folder}.", folder=path.parent))
    return paths


def _name(_: click.Context, __: click.Parameter, given: str) -> str:
    name = given.strip()
    if len(name) > LONGEST_WHO or "\0" in name:
        raise click.BadParameter(
            say(
                "a name of at most {most} letters, not {name}.",
                most=LONGEST_WHO,
                name=repr(shortened(name)),
            )
        )
    return name
