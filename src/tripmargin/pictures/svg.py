"""A small SVG canvas: escaped, deterministic, with a title and a description for screen readers."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from html import escape
from typing import Any

import numpy as np

from tripmargin.pictures.look import FONTS, Look

# Widths of the letters of Liberation Sans (those of Arial and Helvetica), thousandths of the size.
_WIDTHS = {
    222: "ijl",
    260: "|",
    278: " !,./:;I[\\]ft",
    333: "()-`r{}'„“",
    389: '*"',
    500: "Jcksvxyz",
    556: "#$0123456789?L_abdeghnopqu^äöü–",
    584: "+<=>~",
    611: "FTZß",
    667: "&ABEKPSVXYÄ",
    722: "CDHNRUwÜ",
    778: "GOQÖ",
    833: "Mm",
    944: "W%@",
}
_WIDTH_OF = {letter: width for width, letters in _WIDTHS.items() for letter in letters}
# XML 1.0, production 2: these characters may not stand in a document, escaped or not.
_FORBIDDEN = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
# Lines break at spaces, but not between a number and its unit.
_BREAKS = re.compile(r"(?<!\d)\s+|\s+(?!(?:%|mm|ms|in|m/s|ft/min)(?!\w))")
_MARK = "@page@"


def clean(text: object) -> str:
    """Any text, safe inside XML and HTML, in an element or in a quoted attribute.

    >>> clean('<b>&"' + chr(0))
    '&lt;b&gt;&amp;&quot;'
    """
    return escape(_FORBIDDEN.sub("", str(text)), quote=True)


def text_width(text: str, size: float, bold: bool = False) -> float:
    """How wide a line of text will be, px, within a few per cent.

    >>> text_width("mm", 10)
    16.66
    """
    units = sum(_WIDTH_OF.get(c, 600 if ord(c) < 0x2E80 else 1000) for c in text)
    return units * size / 1000 * (1.07 if bold else 1.0)


_VOWELS = "aeiouyäöü"
_FEWEST = 3  # letters of a word on either side of a hyphen


def _hyphened(word: str, size: float, room: float, bold: bool) -> tuple[str, str] | None:
    """A word in two, the first with a hyphen and not wider than the room; None where it cannot be.

    Broken before a consonant that a vowel follows, as German and most English syllables begin;
    "ch", "sh", "ph" and "th" stay together. Only words of letters: a part's name gets no hyphen.
    """
    if not word.isalpha():
        return None
    small = word.lower()
    fitting = _fitting(word, size, room - text_width("-", size, bold), bold)
    for k in range(min(fitting, len(word) - _FEWEST), _FEWEST - 1, -1):
        together = small[k] == "h" and small[k - 1] in "cspt"
        if small[k] not in _VOWELS and small[k + 1] in _VOWELS and not together:
            return f"{word[:k]}-", word[k:]
    return None


def _fitting(word: str, size: float, room: float, bold: bool) -> int:
    """How many letters of a word fit, one at least."""
    wide = 0.0
    for head, letter in enumerate(word):
        wide += text_width(letter, size, bold)
        if wide > room:
            return max(head, 1)
    return len(word)


def wrapped(text: str, size: float, width: float, bold: bool = False) -> list[str]:
    """Text broken into lines that fit; a word that is too long is cut where it must be.

    >>> wrapped("Vorwärtskupplung", 10, 60)
    ['Vorwärts-', 'kupplung']
    """
    lines: list[str] = []
    line = ""
    for word in _BREAKS.split(text.strip()):
        while text_width(word, size, bold) > width and len(word) > 1:
            if (parts := _hyphened(word, size, width, bold)) is not None:
                lines += [line] if line else []
                lines.append(parts[0])
                line, word = "", parts[1]
                continue
            room = width - (text_width(line + " ", size, bold) if line else 0.0)
            head = _fitting(word, size, room, bold)
            if text_width(word[:head], size, bold) > room and line:
                lines.append(line)
                line = ""
                continue
            lines.append(f"{line} {word[:head]}".strip())
            line, word = "", word[head:]
        longer = f"{line} {word}".strip()
        if line and text_width(longer, size, bold) > width:
            lines.append(line)
            longer = word
        line = longer
    return [*lines, line] if line else lines


def shortened(text: str, size: float, width: float, bold: bool = False) -> str:
    """Text cut off with an ellipsis where it would be wider than there is room.

    >>> shortened("lower pawl", 10, 40)
    'lower p\N{HORIZONTAL ELLIPSIS}'
    """
    kept = text
    while text_width(kept, size, bold) > width and len(kept) > 1:
        kept = kept.rstrip("\N{HORIZONTAL ELLIPSIS}")[:-1].rstrip() + "\N{HORIZONTAL ELLIPSIS}"
    return kept


def number(value: float) -> str:
    """A coordinate, px, to a twentieth of a pixel at most.

    >>> number(3.0), number(-0.01), number(12.345)
    ('3', '0', '12.3')
    """
    text = f"{value:.1f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def path_of(points: np.ndarray, closed: bool = False) -> str:
    """Path data through points, shape (n, 2), px."""
    steps = "L".join(f"{number(x)} {number(y)}" for x, y in points)
    return f"M{steps}{'Z' if closed else ''}"


class Canvas:
    """Collects shapes, px from the top left; `done` gives the whole picture."""

    def __init__(self, width: float, look: Look) -> None:
        self.width, self.look = width, look
        self._parts: list[str] = []
        self._defs: dict[str, str] = {}

    def element(self, name: str, content: str | None = None, **attributes: Any) -> None:
        """One element; underscores in attribute names become hyphens, numbers are rounded."""
        self._parts.append(_element(name, content, attributes))

    def rect(self, x: float, y: float, width: float, height: float, **style: Any) -> None:
        """A rectangle."""
        self.element("rect", x=x, y=y, width=max(width, 0.0), height=max(height, 0.0), **style)

    def line(self, x1: float, y1: float, x2: float, y2: float, **style: Any) -> None:
        """A straight line, in ink unless told otherwise."""
        style.setdefault("stroke", self.look.ink)
        self.element("line", x1=x1, y1=y1, x2=x2, y2=y2, **style)

    def path(self, data: str, **style: Any) -> None:
        """A path; not filled unless told otherwise."""
        style.setdefault("fill", "none")
        if data:
            self.element("path", d=data, **style)

    def text(self, x: float, y: float, text: str, size: float, **style: Any) -> None:
        """One line of text, its baseline at y."""
        style.setdefault("fill", self.look.ink)
        self.element("text", clean(text), x=x, y=y, font_size=size, **style)

    def plate(self, x: float, y: float, lines: Sequence[str], size: float, **style: Any) -> None:
        """Lines of text centred on a point, on a plate of paper, readable over any pattern."""
        width, height = plate_size(lines, size)
        self.rect(x - width / 2, y - height / 2, width, height, rx=3, fill=self.look.paper)
        top = y - height / 2 + 3 + size * 0.95
        for k, line in enumerate(lines):
            bold = {"font_weight": "bold"} if k == 0 else {}
            at = top + k * size * 1.25
            self.text(x, at, line, size, text_anchor="middle", **{**bold, **style})

    def arrow(self, x: float, y1: float, y2: float, colour: str) -> None:
        """A vertical dimension line with a head at either end; short ones lose their heads."""
        self.line(x, y1, x, y2, stroke=colour, stroke_width=2)
        head = min(7.0, abs(y2 - y1) / 2.5)
        for tip, way in ((y1, np.sign(y2 - y1)), (y2, np.sign(y1 - y2))):
            corners = [
                (x, tip),
                (x - head * 0.6, tip + way * head),
                (x + head * 0.6, tip + way * head),
            ]
            self.path(path_of(np.array(corners), closed=True), fill=colour)

    def ring(self, x: float, y: float) -> None:
        """A ring that marks a point on a line."""
        style: dict[str, Any] = {"stroke": self.look.ink, "stroke_width": 2.5}
        self.element("circle", cx=x, cy=y, r=5, fill=self.look.paper, **style)

    def pattern(self, kind: str, colour: str, weight: float = 1.0, ground: str = "none") -> str:
        """A fill for a region: "stripes", "slant", "backslant" or "dots"; returns its url."""
        name = f"{kind}-{colour[1:]}-{ground.strip('#')}-{number(weight * 10)}"
        self._defs[name] = _pattern(kind, colour, weight, ground, f"{_MARK}-{name}")
        return f"url(#{_MARK}-{name})"

    def done(self, height: float, title: str, description: str) -> str:
        """The finished picture. Its ids come from its content, so that many fit on one page."""
        inside = "".join(self._defs[key] for key in sorted(self._defs))
        body = "\n".join(self._parts)
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{number(self.width)}" '
            f'height="{number(height)}" viewBox="0 0 {number(self.width)} {number(height)}" '
            f'role="img" aria-labelledby="{_MARK}-title {_MARK}-desc" '
            f'font-family="{clean(FONTS)}">\n<title id="{_MARK}-title">{clean(title)}</title>\n'
            f'<desc id="{_MARK}-desc">{clean(description)}</desc>\n<defs>{inside}</defs>\n'
            f'<rect width="100%" height="100%" fill="{self.look.paper}"/>\n'
        )
        whole = f"{head}{body}\n</svg>\n"
        return whole.replace(_MARK, "p" + hashlib.sha256(whole.encode()).hexdigest()[:10])


def plate_size(lines: Sequence[str], size: float) -> tuple[float, float]:
    """Width and height of a plate of text, px."""
    width = max(text_width(line, size, bold=k == 0) for k, line in enumerate(lines))
    return width * 1.06 + 8, len(lines) * size * 1.25 + 5


def _element(name: str, content: str | None, attributes: dict[str, Any]) -> str:
    parts = [name]
    for key, value in attributes.items():
        shown = number(value) if isinstance(value, (int, float)) else clean(value)
        parts.append(f'{key.replace("_", "-")}="{shown}"')
    head = " ".join(parts)
    return f"<{head}/>" if content is None else f"<{head}>{content}</{name}>"


def _pattern(kind: str, colour: str, weight: float, ground: str, name: str) -> str:
    size, turn, marks = {
        "stripes": (6, 0, _bar(6, 1.6 * weight, colour)),
        "slant": (8, -45, _bar(8, 2.0 * weight, colour)),
        "backslant": (8, 45, _bar(8, 2.0 * weight, colour)),
        "dots": (8, 0, _dots((2, 2), (6, 6), 1.25 * weight, colour)),
    }[kind]
    under = f'<rect width="{size}" height="{size}" fill="{ground}"/>' if ground != "none" else ""
    return (
        f'<pattern id="{name}" width="{size}" height="{size}" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate({turn})">{under}{marks}</pattern>'
    )


def _bar(size: float, width: float, colour: str) -> str:
    return f'<rect width="{size}" height="{width:.2f}" fill="{colour}"/>'


def _dots(one: tuple[int, int], two: tuple[int, int], radius: float, colour: str) -> str:
    return "".join(
        f'<circle cx="{x}" cy="{y}" r="{radius:.2f}" fill="{colour}"/>' for x, y in (one, two)
    )
