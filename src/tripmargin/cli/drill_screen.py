"""Where a drill is read from and told to: a terminal, a file of lines, the error stream."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import click

from tripmargin.cli.case_screen import Lines


@dataclass(slots=True)
class Screen:
    """Lines in and out.

    Attributes
    ----------
    answers : iterator of str, optional
        Lines in place of what is typed.
    aside : bool
        Tell on the error stream: standard output is kept for the result.
    """

    answers: Iterator[str] | None = None
    aside: bool = False

    def read(self) -> str:
        """The next line. EOFError at the end of the input, KeyboardInterrupt on Ctrl-C."""
        click.echo("> ", nl=False, err=self.aside)
        (sys.stderr if self.aside else sys.stdout).flush()
        if self.answers is None:
            line = input()
        else:
            found = next(self.answers, None)
            if found is None:
                raise EOFError
            line = found
        if self.answers is not None or not sys.stdin.isatty():
            click.echo(line, err=self.aside)  # the transcript shows what was not typed
        return line.strip()

    def write(self, text: str, first: str = "", rest: str | None = None) -> None:
        """Tell sentences, each folded to the terminal's width."""
        lines = Lines()
        for sentence in text.splitlines():
            lines.write(sentence, first, rest)
        self.show(lines.all)

    def show(self, lines: Sequence[str]) -> None:
        """Tell lines as they are."""
        if lines:
            click.echo("\n".join(lines), err=self.aside)
