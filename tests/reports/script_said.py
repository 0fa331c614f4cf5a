"""What the scripts of a page say: in them, in the catalogues, and marked on the page."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path
from typing import Any

from tests.marked_language import unmarked
from tools.said_in import said_in_script
from tripmargin.reports.one_file import script_of
from tripmargin.reports.script_words import messages_in

Said = tuple[str, str]


def handed_over(package: str, names: tuple[str, ...]) -> set[Said]:
    """Messages that a page asks the catalogue for, each with its context or its plural."""
    return {
        ("", first) if call == "say" else (first, second)
        for call, first, second in messages_in(script_of(package, names))
    }


def gathered(package: str, names: tuple[str, ...]) -> set[Said]:
    """The same as the catalogues are made of it, by Babel's own reader of JavaScript."""
    found: set[Said] = set()
    for name in names:
        path = Path(str(files(package).joinpath("script", f"{name}.js")))
        for _, message, context in said_in_script(path):
            if isinstance(message, tuple):
                found.add((str(message[0]), str(message[1])))
            else:
                found.add((str(context or ""), str(message)))
    return found


def left_unmarked(page: Any, data: set[str]) -> list[str]:
    """What stands on a page in a browser, in the marked language, that no catalogue said."""
    return unmarked(page.evaluate("document.body.outerHTML"), data)
