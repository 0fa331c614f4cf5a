"""Reading a picture back: its texts with their extents, its colours, its shapes."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass

import numpy as np

from tripmargin.pictures.svg import text_width

SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Text:
    words: str
    left: float
    right: float
    top: float
    bottom: float
    size: float
    fill: str


def root_of(svg: str) -> ET.Element:
    return ET.fromstring(svg)


def texts(svg: str) -> list[Text]:
    """Every text with its estimated extent, px."""
    found = []
    for node in root_of(svg).iter(f"{SVG}text"):
        words, size = node.text or "", float(node.attrib["font-size"])
        wide = text_width(words, size, node.get("font-weight") == "bold")
        shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[node.get("text-anchor", "start")]
        left, base = float(node.attrib["x"]) - shift * wide, float(node.attrib["y"])
        box = (left, left + wide, base - 0.73 * size, base + 0.22 * size)
        found.append(Text(words, *box, size, node.attrib["fill"]))
    return found


def words_of(svg: str) -> str:
    """All texts of a picture, in the order drawn."""
    return " ".join(text.words for text in texts(svg))


def size_of(svg: str) -> tuple[float, float]:
    root = root_of(svg)
    return float(root.attrib["width"]), float(root.attrib["height"])


def overlaps(svg: str) -> list[tuple[str, str]]:
    """Pairs of texts that run into each other."""
    all_texts = texts(svg)
    return [
        (a.words, b.words)
        for k, a in enumerate(all_texts)
        for b in all_texts[k + 1 :]
        if a.left < b.right and b.left < a.right and a.top < b.bottom and b.top < a.bottom
    ]


def outside_page(svg: str) -> list[str]:
    """Texts that leave the page."""
    width, height = size_of(svg)
    return [
        t.words
        for t in texts(svg)
        if t.left < 0 or t.right > width or t.top < 0 or t.bottom > height
    ]


def colours(svg: str) -> set[str]:
    return set(re.findall(r'"(#[0-9a-f]{6})"', svg))


def filled_area(data: str) -> float:
    """Area enclosed by closed path data of straight lines, holes taken off, px2 (shoelace)."""
    total = 0.0
    for ring in re.findall(r"M([^MZ]*)Z", data):
        points = np.array([[float(v) for v in pair.split()] for pair in ring.split("L")])
        x, y = points.T
        total += 0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
    return abs(total)


def path_filled(svg: str, fill: str) -> str:
    """Data of the paths filled with a colour, joined."""
    paths = root_of(svg).iter(f"{SVG}path")
    return "".join(node.attrib["d"] for node in paths if node.get("fill") == fill)
