"""Machines and values that are larger than an upload or a form takes them."""

from __future__ import annotations

from typing import Any

from tests.machine.files import SMALL
from tripmargin.machine import digest_of

PAWLS = "".join(f'\n[[chain.pawls]]\nname = "p{k}"\n' for k in range(60))
DEEP_KEY = ".".join(
    "a" * 5000
)  # the standard library's reader of TOML takes a time like its square
SMALL_OWL = SMALL.replace('name = "Knot"', 'name = "Owl"')


def copy_with(text: str) -> dict[str, Any]:
    """A copy of a machine of this text; whole, with its digest, where the text can be read."""
    made = {"format": 1, "file": "owl.toml", "name": "Owl",
            "sheets": [{"name": "owl.toml", "text": text}], "digest": "0" * 64}  # fmt: skip
    try:
        return made | {"digest": digest_of(made)}
    except Exception:
        return made


def nested(depth: int) -> Any:
    made: Any = 1
    for _ in range(depth):
        made = [made]
    return made
