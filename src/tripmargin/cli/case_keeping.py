"""Where a case is kept when a person leaves it: nothing that was entered is ever lost."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tripmargin.cli.case_screen import read, write
from tripmargin.cli.output import json_text
from tripmargin.faultfinding.wording.standing_words import has_ended
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say

if TYPE_CHECKING:
    from tripmargin.faultfinding import Case


@contextmanager
def stopped_gently() -> Iterator[None]:
    """A broken connection, or the order to stop, counts as Ctrl-C: the case is kept."""

    def interrupt(*_: object) -> None:
        raise KeyboardInterrupt

    names = ("SIGHUP", "SIGTERM")  # the first is not known everywhere
    signals = [getattr(signal, name) for name in names if hasattr(signal, name)]
    if threading.current_thread() is not threading.main_thread():
        signals = []
    before = [signal.signal(each, interrupt) for each in signals]
    try:
        yield
    finally:
        for each, handler in zip(signals, before, strict=True):
            signal.signal(each, handler)


def ask_where(case: Case, again: str) -> None:
    """Where to keep a case that is in memory; one that has a file is there already."""
    if case.file.path is not None:
        kept(case, again)
        return
    while case.file.path is None and case.file.entries:
        name = free_name(case, ".jsonl")
        write(say("Keep the case under which name? Enter: {name}", name=name))
        said = read()
        _keep_in(case, again, Path(said) if said else name)


def _keep_in(case: Case, again: str, path: Path) -> None:
    try:
        case.file = case.file.save_as(path)
    except (TripmarginError, OSError) as error:
        write(str(error))
        return
    kept(case, again)


def keep_unasked(case: Case, again: str, *, ended: bool) -> None:
    """Keep what was entered, whatever ended the sitting: the file first, then the words."""
    trouble: Exception | None = None
    if case.file.path is None and case.file.entries:
        try:
            case.file = case.file.save_as(free_name(case, ".jsonl"))
        except (TripmarginError, OSError) as error:
            trouble = error
    click.echo("")
    if case.file.path is not None:
        kept(case, again)
    elif trouble is not None:  # not even here: the case is at least on the screen
        write(str(trouble))
        for line in (case.file.head, *(entry.to_dict() for entry in case.file.entries)):
            click.echo(json_text(line))
    elif not ended:
        click.echo(say("Stopped. Nothing was entered, so nothing was written."), err=True)


def kept(case: Case, again: str) -> None:
    """Say where the case is, and how to go on with it."""
    path = case.file.path
    click.echo(say("The case is kept in {path}", path=path))
    if not has_ended(case):
        click.echo(say('Go on with: {again} --case "{path}"', again=again, path=path))


def free_name(case: Case, suffix: str) -> Path:
    """A name in the current folder that is not taken, such as case-whimbrel-20261125-1735.html."""
    letters = (letter if letter.isalnum() else "-" for letter in case.of.machine.name.lower())
    name = "-".join(part for part in "".join(letters).split("-") if part)[:40] or "machine"
    stem = f"case-{name}-{datetime.now():%Y%m%d-%H%M}"
    path, number = Path(f"{stem}{suffix}"), 2
    while path.exists():
        path, number = Path(f"{stem}-{number}{suffix}"), number + 1
    return path
