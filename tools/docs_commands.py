"""docs/reference/commands.md: what each command and option does, from the commands themselves."""

from __future__ import annotations

from collections.abc import Iterator

import click

PAGE = "reference/commands.md"
WIDTH = 88
INTRODUCTION = """\
# Commands

Made by `make docs` from the help of the commands. Every length, speed and time is given with its
unit, such as `--cut 9mm`.

`MACHINE` is a machine file ([field by field](machine-file.md)) or a demo machine: `dunlin`,
`curlew`, `whimbrel`, `sanderling`. Answers go to standard output; refusals and progress to
standard error.

| exit code | meaning |
|---|---|
| 0 | answered |
| 1 | `machine check` found a problem; or the input ended too soon (`machine new` keeps a draft) |
| 2 | refused: a file, an option or a field that cannot be, or an answer that needs more fields |
| 130 | stopped by Ctrl-C; nothing is left half written |
"""


def text() -> str:
    from tripmargin.cli.main import main

    parts = [INTRODUCTION]
    for context in contexts(main):
        level = "#" * (1 + len(context.command_path.split()))
        help_text = context.get_help().rstrip()
        parts.append(f"{level} {context.command_path}\n\n```text\n{help_text}\n```\n")
    return "\n".join(parts)


def contexts(
    command: click.Command, parent: click.Context | None = None
) -> Iterator[click.Context]:
    """Yield a click context for a command and for every command below it."""
    name = command.name if parent else "tripmargin"
    context = click.Context(command, info_name=name, parent=parent, max_content_width=WIDTH)
    context.terminal_width = WIDTH
    yield context
    if isinstance(command, click.Group):
        for each in command.list_commands(context):
            below = command.get_command(context, each)
            if below is not None and not below.hidden:
                yield from contexts(below, context)
