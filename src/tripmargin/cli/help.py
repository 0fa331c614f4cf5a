"""A command's help in the reader's language; `tools/catalogues.py` gathers it from the commands."""

from __future__ import annotations

import copy
from inspect import cleandoc
from typing import TypeVar

import click

from tripmargin.ground.languages import ENGLISH, language, say

AnyCommand = TypeVar("AnyCommand", bound=click.Command)


def in_the_readers_language(command: AnyCommand) -> AnyCommand:
    """The command itself in English; elsewhere a copy whose help is said in the language."""
    if language() == ENGLISH:
        return command
    said = copy.copy(command)
    for name in ("help", "short_help", "epilog"):
        text = getattr(said, name)
        if text:
            setattr(said, name, say(cleandoc(text)))
    said.params = [_said(each) for each in command.params]
    if isinstance(said, click.Group):
        said.commands = {
            name: in_the_readers_language(each) for name, each in said.commands.items()
        }
    return said


def _said(parameter: click.Parameter) -> click.Parameter:
    text = getattr(parameter, "help", None)
    if not text:
        return parameter
    said = copy.copy(parameter)
    said.help = say(text)
    return said
