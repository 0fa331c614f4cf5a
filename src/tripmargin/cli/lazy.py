"""Command groups that name their commands without importing them, so that help is quick."""

from __future__ import annotations

from dataclasses import dataclass
from importlib import import_module
from typing import Any

import click

from tripmargin.cli.help import in_the_readers_language
from tripmargin.ground.languages import say


@dataclass(frozen=True, slots=True)
class Later:
    """A command that is imported when it is used: where it lives, and its line in the help."""

    module: str
    attribute: str
    line: str


class WholeLines(click.Group):
    """A group whose help says each command in a whole sentence, however narrow the terminal."""

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list in the help; a sentence that is longer than its line goes on below."""
        with formatter.section(say("Commands")):
            formatter.write_dl(
                [
                    (name, command.get_short_help_str(_WHOLE))
                    for name, command in sorted(self.commands.items())
                ]
            )


_WHOLE = 1000  # signs, more than any first sentence has


class LazyGroup(click.Group):
    """A group whose commands are imported one by one, when they are called."""

    def __init__(self, *args: Any, later: dict[str, Later] | None = None, **more: Any) -> None:
        super().__init__(*args, **more)
        self.later = later or {}

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names, in the order in which a person needs them."""
        return [*self.later, *super().list_commands(ctx)]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command itself, imported now."""
        place = self.later.get(cmd_name)
        if place is None:
            return super().get_command(ctx, cmd_name)
        command = getattr(import_module(place.module), place.attribute)
        assert isinstance(command, click.Command)
        return in_the_readers_language(command)

    def format_help(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The help, in the reader's language."""
        super(LazyGroup, in_the_readers_language(self)).format_help(ctx, formatter)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list in the help, from the lines known here."""
        with formatter.section(say("Commands")):
            formatter.write_dl([(name, say(place.line)) for name, place in self.later.items()])

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command meant; an unknown one is refused with the nearest known one named."""
        from tripmargin.ground.errors import nearest

        name = args[0]
        if name not in self.later and not name.startswith("-"):
            near = nearest(name.lower(), list(self.later))
            if near:
                ctx.fail(
                    say(
                        'There is no command "{name}". Did you mean "{near}"?', name=name, near=near
                    )
                )
            known = ", ".join(self.later)
            ctx.fail(
                say('There is no command "{name}". Commands: {known}.', name=name, known=known)
            )
        return super().resolve_command(ctx, args)
