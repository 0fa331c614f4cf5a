"""Lines on a terminal, folded to its width; and a line from the person."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Sequence

import click

from tripmargin.cli.tables import WIDTH, folded

NARROWEST = 40  # columns; a phone held upright shows about 50


def columns() -> int:
    """Columns to write into: the terminal's, within what can be read."""
    return min(WIDTH, max(NARROWEST, shutil.get_terminal_size().columns))


class Lines:
    """Sentences folded to the terminal's width, one after the other."""

    def __init__(self) -> None:
        self.width = columns()
        self.all: list[str] = []

    def write(self, text: str, first: str = "", rest: str | None = None) -> None:
        """Add a sentence."""
        self.all.extend(folded(text, first, rest, self.width).splitlines() or [""])

    def gap(self) -> None:
        """Add an empty line, never two in a row."""
        if self.all and self.all[-1]:
            self.all.append("")

    def rule(self, text: str) -> None:
        """Add a line across, with a few words on it."""
        self.gap()
        self.all.append(f"-- {text} ".ljust(self.width, "-"))


def percent(chance: float) -> str:
    """A chance as people read it."""
    from tripmargin.faultfinding.deciding.reasons import percent as said

    return said(chance)


def read() -> str:
    """A line from the person. EOFError at the end of the input, KeyboardInterrupt on Ctrl-C."""
    click.echo("> ", nl=False)
    sys.stdout.flush()
    line = input()
    if not sys.stdin.isatty():
        click.echo(line)  # piped answers: the transcript shows them
    return line.strip()


def write(text: str) -> None:
    """Print sentences, each folded."""
    lines = Lines()
    for sentence in text.splitlines():
        lines.write(sentence)
    show(lines.all)


def show(lines: Sequence[str]) -> None:
    """Print lines; nothing where all are empty."""
    if any(lines):
        click.echo("\n".join(lines))
