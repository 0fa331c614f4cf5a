"""Letters that no typeface carried along has: said by their names, so that nothing is lost."""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Iterable, Sequence
from functools import cache
from importlib.resources import as_file, files
from typing import Any

FAMILIES = ("Liberation Sans", "DejaVu Sans Mono")
"""The first is shipped beside this file, the second is carried by the typesetter."""
PROFILES = ["ua-1", "a-3a"]
"""Open to everybody (ISO 14289-1), and kept for years with a file inside (ISO 19005-3, level a)."""
_HERE = "tripmargin.reports.paper"
_KNOWN = frozenset(chr(c) for c in (*range(0x20, 0x7F), *range(0xA1, 0x180)))
_TRIED: dict[str, bool] = {}
_TRIAL = """
#set document(title: "t")
#set text(lang: "en", font: json("families.json"))
#for one in json("letters.json") [#one #strong(one) ]
"""


def compiled(parts: dict[str, bytes], *, seconds: int = 0) -> bytes:
    """A PDF by `PROFILES`, from the text "main" and the files it reads.

    Nothing is read from this computer's own typefaces and nothing from a network, so that the same
    parts give the same bytes everywhere.

    Raises
    ------
    typst.TypstError
        If a profile is not met, or a letter is in no typeface.
    """
    import typst

    with as_file(files(_HERE) / "fonts") as folder:
        fonts = str(folder)
        compiler: Any = typst.Compiler(  # type: ignore[misc]  # its stub can't name the input
            parts,
            ignore_system_fonts=True,
            font_paths=[fonts],
            package_path=fonts,
            package_cache_path=fonts,
        )
        made: bytes = compiler.compile(format="pdf", pdf_standards=PROFILES, timestamp=seconds)
    return made


def in_letters(text: str) -> str:
    """The text with every letter that no typeface has replaced by its name.

    >>> in_letters("Dunlin \N{TRACTOR} 2")
    'Dunlin [tractor] 2'
    """
    odd = sorted({letter for letter in text if letter not in _KNOWN})
    _try(letter for letter in odd if letter not in _TRIED)
    lacking = {ord(letter): _name(letter) for letter in odd if not _TRIED[letter]}
    return text.translate(lacking) if lacking else text


def _name(letter: str) -> str:
    category = unicodedata.category(letter)
    if letter in "\t\n\r" or category.startswith("Z"):
        return " "
    if category in ("Cc", "Cf", "Cs", "Mn", "Me"):  # signs that show nothing of their own
        return ""
    name = unicodedata.name(letter, "").lower()
    return f"[{name or f'U+{ord(letter):04X}'}]"


def _try(letters: Iterable[str]) -> None:
    """Find out which letters can be set: all at once, and by halves where one of them cannot."""
    wanted = []
    for letter in letters:
        if unicodedata.category(letter) in ("Cc", "Cs", "Cn", "Co", "Zl", "Zp"):
            _TRIED[letter] = False
        else:
            wanted.append(letter)
    _halve(wanted)


def _halve(letters: Sequence[str]) -> None:
    if not letters:
        return
    if _can_be_set(letters):
        _TRIED.update(dict.fromkeys(letters, True))
    elif len(letters) == 1:
        _TRIED[letters[0]] = False
    else:
        middle = len(letters) // 2
        _halve(letters[:middle])
        _halve(letters[middle:])


def _can_be_set(letters: Sequence[str]) -> bool:
    import typst

    parts = {
        "main": _TRIAL.encode(),
        "letters.json": json.dumps(list(letters)).encode(),
        "families.json": _families(),
    }
    try:
        compiled(parts)
    except typst.TypstError:
        return False
    return True


@cache
def _families() -> bytes:
    return json.dumps(FAMILIES).encode()
