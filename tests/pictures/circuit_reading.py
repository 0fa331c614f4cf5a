"""Reading a picture of current paths back: its parts, their marks, its lines."""

import re

from tests.pictures.reading import SVG, root_of, texts
from tripmargin.circuit import Network, Source, Step, operate

SIMPLE = Step("simple", {"switch": "on"}, 12.0)


def drawn(svg):
    """The mark and the showing of each part, as drawn, in the order drawn."""
    found = [node for node in root_of(svg).iter() if node.get("data-part") is not None]
    return [(n.get("data-part"), n.get("data-mark"), n.get("data-shows")) for n in found]


def names(network):
    return sorted(part.name for part in network.parts)


def state_of(*parts):
    network = Network((Source("battery", "30", "0", 12.0), *parts), steps=(SIMPLE,))
    return network, operate(network)["simple"]


def span(line):
    return abs(float(line["x2"]) - float(line["x1"]))


def strokes(svg):
    """Extent of every line and every symbol, px."""
    for node in root_of(svg).iter():
        if node.tag == f"{SVG}line":
            x, y = ([float(node.get(f"{axis}{k}")) for k in (1, 2)] for axis in "xy")
        elif node.tag == f"{SVG}path":
            points = re.findall(r"(-?[\d.]+),(-?[\d.]+)", node.get("d"))
            x, y = zip(*((float(a), float(b)) for a, b in points), strict=True)
        else:
            continue
        yield min(x), max(x), min(y), max(y)


def struck(svg):
    """Words that a line or a symbol runs through, by more than a hair."""
    words = texts(svg)
    return [
        text.words
        for left, right, top, bottom in strokes(svg)
        for text in words
        if left < text.right - 1 and text.left + 1 < right
        if top < text.bottom - 2 and text.top + 1 < bottom
    ]
