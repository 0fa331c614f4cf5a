"""One HTML file that needs no network: its policy, its colours, its numbers."""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import Any

from tripmargin.ground.languages import language
from tripmargin.pictures.look import DAY, FONTS, SUN, Look
from tripmargin.pictures.svg import clean
from tripmargin.reports.script_words import script_words

MOST = 1_000_000  # bytes of a page


def one_file(title: str, style: str, script: str, body: str) -> str:
    """The page as text.

    Parameters
    ----------
    title : str
        Plain words.
    style, script : str
        The page's own, from `style_of` and `script_of`.
    body : str
        HTML, what is plain words in it cleaned.

    Notes
    -----
    The page is in the language spoken: what its script says goes along as data. It may load nothing
    and run nothing but its own one script, by its hash (Content Security Policy level 3, W3C).
    """
    policy, words = policy_of(style, script), script_words(script)
    if words is not None:
        body += numbers_html("words", words)
    return (
        f'<!DOCTYPE html>\n<html lang="{language()}">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{clean(title)}</title>\n<style>{style}</style>\n"
        f"<script>{script}</script>\n</head>\n<body>\n{body}</body>\n</html>\n"
    )


def policy_of(style: str, script: str) -> str:
    """A page's policy: nothing is loaded, and nothing runs but its own one script and style."""
    return (
        f"default-src 'none'; script-src '{_hash(script)}'; style-src '{_hash(style)}';"
        " base-uri 'none'; form-action 'none'"
    )


def numbers_html(name: str, data: Any) -> str:
    """Data for the page's script, as an element of that id that runs nothing.

    Raises
    ------
    ValueError
        If a number in it is not finite.
    """
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    text = text.replace("<", "\\u003c")
    return f'<script type="application/json" id="{name}">{text}</script>\n'


@cache
def script_of(package: str, names: Sequence[str]) -> str:
    """The scripts of a package's folder `script`, one after the other as one, behind `say`."""
    folder = files(package).joinpath("script")
    say = files("tripmargin.reports").joinpath("script", "say.js")
    parts = (each.read_text("utf-8") for each in (say, *(folder / f"{name}.js" for name in names)))
    return '"use strict";\n' + "\n".join(parts)


@cache
def style_of(package: str) -> str:
    """A package's `look.css`, behind the colours of `tripmargin.pictures.look`."""
    text = files(package).joinpath("look.css").read_text("utf-8")
    return f":root {{ {_colours(DAY)} --fonts: {FONTS}; }}\n.sun {{ {_colours(SUN)} }}\n{text}"


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode()).digest()
    return f"sha256-{base64.b64encode(digest).decode()}"


def _colours(look: Look) -> str:
    names = ("paper", "ink", "soft", "accent", "wash")
    return " ".join(f"--{name}: {getattr(look, name)};" for name in names)
