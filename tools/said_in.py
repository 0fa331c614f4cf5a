"""Find what is said to people in the sources: Python, commands, scripts, templates, demo machines.

Python is read by its own parser, for the tokens of a formatted text hide what is said within it.
"""

from __future__ import annotations

import ast
import inspect
import io
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from babel.messages.extract import extract

Said = tuple[int, object, object]
"""Line, message (a pair where there is a plural), context."""

# Which arguments of a call are the message, its plural, its context.
CALLS: dict[str, tuple[tuple[int, ...], int | None]] = {
    "say": ((0,), None),
    "later": ((0,), None),
    "say_many": ((0, 1), None),
    "say_as": ((1,), 0),
}
CALLS_OF_THE_COMMAND_LINE: dict[str, tuple[tuple[int, ...], int | None]] = {
    "_": ((0,), None),
    "ngettext": ((0, 1), None),
}
KEYWORDS: dict[str, Any] = {
    "_": None,
    "say": None,
    "say_many": (1, 2),
    "say_as": ((1, "c"), 2),
    "sayMany": (1, 2),  # as scripts for the browser name them
    "sayAs": ((1, "c"), 2),
    "gettext": None,
    "ngettext": (1, 2),
    "pgettext": ((1, "c"), 2),
    "npgettext": ((1, "c"), 2, 3),
}


def said_in_python(
    path: Path, calls: Mapping[str, tuple[tuple[int, ...], int | None]] = CALLS
) -> Iterator[Said]:
    """Everything said in a Python file."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Call) and _name_of(node.func) in calls:
            messages, context = calls[_name_of(node.func)]
            said = [_literal(node, place) for place in messages]
            if all(said):
                whole = said[0] if len(said) == 1 else tuple(said)
                yield node.lineno, whole, None if context is None else _literal(node, context)


def _literal(call: ast.Call, place: int) -> str | None:
    """The text that stands as an argument; None where something else does."""
    argument = call.args[place] if place < len(call.args) else None
    if isinstance(argument, ast.Constant) and isinstance(argument.value, str):
        return argument.value
    return None


def said_in_commands(path: Path) -> Iterator[Said]:
    """Help of the commands and their options in a file: docstrings, `help=`, `epilog=`, lines."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.FunctionDef) and any(map(_makes_a_command, node.decorator_list)):
            yield node.lineno, inspect.cleandoc(ast.get_docstring(node) or ""), None
        if isinstance(node, ast.Call):
            told = [each.value for each in node.keywords if each.arg in ("help", "epilog")]
            if _name_of(node.func) == "Later":
                told.append(node.args[2])
            for each in told:
                if isinstance(each, ast.Constant) and isinstance(each.value, str):
                    yield node.lineno, each.value, None


def _makes_a_command(decorator: ast.expr) -> bool:
    return isinstance(decorator, ast.Call) and _name_of(decorator.func) in ("command", "group")


def _name_of(called: ast.expr) -> str:
    return getattr(called, "attr", getattr(called, "id", ""))


def said_in_script(path: Path) -> Iterator[Said]:
    """The same of a script for the browser."""
    with path.open("rb") as file:
        for line, message, _, context in extract("javascript", file, KEYWORDS):
            yield line, message, context


def said_in_template(path: Path) -> Iterator[Said]:
    """The same of a template: Django itself turns it into Python for the purpose."""
    from django.conf import settings
    from django.utils.translation.template import templatize

    if not settings.configured:
        settings.configure(USE_I18N=True)
    text = templatize(path.read_text("utf-8"), origin=str(path))
    file = io.BytesIO(text.encode())
    for line, message, _, context in extract("python", file, KEYWORDS):
        yield line, message, context


def said_in_machine_file(path: Path) -> Iterator[Said]:
    """The same of a demo machine's file: names, places, what to do, what a check proves."""
    from tripmargin.ground.languages.own_words import CONTEXT
    from tripmargin.machine.own_words import own_words

    for text in own_words(tomllib.loads(path.read_text("utf-8"))):
        yield 0, text, CONTEXT


def said_in_place_of_a_file() -> Iterator[Said]:
    """What the tool itself writes where a machine file's text would stand."""
    from tripmargin.ground.languages.own_words import CONTEXT
    from tripmargin.machine.own_words import ASSUMED_NOISE

    yield 0, ASSUMED_NOISE, CONTEXT
