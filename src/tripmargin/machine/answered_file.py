"""The machine file that the answers of `machine new` make, with its comments."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from tripmargin.ground.languages import say

if TYPE_CHECKING:
    from tripmargin.machine.asking import Answers, Question


def text_of(answers: Answers) -> str:
    """The file's text; its comments are in the language of the person who answered."""
    lines = [
        *_comment(
            say(
                "Written by `tripmargin machine new`. Quantities are texts with their units;\n"
                '"a +- b" and "a .. b" are limits, "a +- b (sd)" has a standard deviation.'
            )
        ),
        "format = 1",
    ]
    if answers.extends:
        lines.append(f"extends = {_toml(answers.extends)}")
    table: tuple[str, ...] = ()
    for question in answers.questions():
        if question.path[:-1] != table:
            table = question.path[:-1]
            lines += _heading(table)
        lines += _line(answers, question)
    return "\n".join([*lines, ""])


def _heading(table: tuple[str, ...]) -> list[str]:
    if table[:2] == ("chain", "pawls"):
        return ["", "[[chain.pawls]]", f"name = {_toml(table[2])}"]
    return ["", f"[{'.'.join(table)}]"]


def _line(answers: Answers, question: Question) -> list[str]:
    name, meaning = question.path[-1], question.meaning
    if question.path in answers.values:
        said = " ".join(_comment(meaning))
        return [f"{name} = {_toml(answers.values[question.path])}  {said}"]
    left_out = question.left_out()
    return _comment(
        say("{name}: {meaning}. Left out: {left_out}.",
            name=name, meaning=meaning, left_out=left_out)
    )  # fmt: skip


def _comment(text: str) -> list[str]:
    """Each line of a text as a comment."""
    return [f"# {line}" for line in text.splitlines()]


def _toml(value: Any) -> str:
    """A value as TOML writes it; JSON's texts are TOML's basic strings."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_toml(item)}" for key, item in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(_toml(item) for item in value) + "]"
    # A DEL is the one character that JSON leaves bare and TOML does not.
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
