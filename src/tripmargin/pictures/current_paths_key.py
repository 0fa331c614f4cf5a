"""The key of the current paths: lines, and the symbols that the picture uses, in words."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from tripmargin.circuit import Contact, Network, Part
from tripmargin.circuit.parts import original
from tripmargin.pictures.circuit_symbols import (
    WEIGHTS,
    Standing,
    arrow_head,
    colour_of,
    draw_symbol,
    hatched_ring,
)
from tripmargin.pictures.sheet import Sheet
from tripmargin.pictures.svg import text_width

_LINES = {
    "live": "carries current, arrow: its way",
    "under voltage": "under voltage, no current",
    "dead": "dead",
}
_SHOWN = {
    "lamp": (("on", "lamp on"), ("dim", "dim"), ("off", "off")),
    "led": (("on", "LED on"), ("dim", "dim"), ("off", "off")),
    "buzzer": (("on", "buzzer sounds"), ("dim", "sounds weakly"), ("off", "silent")),
    "contact": (("closed", "contact closed"), ("open", "open")),
    "coil": (("pulled", "relay pulled"), ("at rest", "at rest")),
    "fuse": (("whole", "fuse"), ("blown", "blown")),
}
_WORDS = {
    "wire": "wire",
    "connector": "plug connection",
    "ground": "ground joint",
    "winding": "winding",
    "resistor": "resistor",
    "suppression": "resistor",
    "load": "what a module draws",
    "diode": "diode",
    "source": "battery cells",
}
_MOVED = {
    "BySwitch": "moved by hand",
    "ByRelay": "moved by a relay",
    "ByModule": "switched by the module",
    "ByPlunger": "moved by the plunger",
}
_ROW, _BEFORE = 34.0, 50.0  # px, height of a row; room of a sample left of its words

Sample = tuple[Callable[[float, float], None], str]


def draw_key(sheet: Sheet, network: Network, *, ringed: bool) -> None:
    """Samples with their words, in as many rows as they need."""
    size, x = sheet.type.small, sheet.type.edge
    sheet.y += 4
    for draw, words in _samples(sheet, network, ringed):
        needed = _BEFORE + text_width(words, size) * 1.05 + 10
        if x > sheet.type.edge and x + needed > sheet.width - sheet.type.edge:
            x, sheet.y = sheet.type.edge, sheet.y + _ROW
        draw(x + 24, sheet.y + _ROW / 2)
        sheet.canvas.text(x + _BEFORE, sheet.y + _ROW / 2 + size * 0.36, words, size)
        x += needed
    sheet.y += _ROW


def _samples(sheet: Sheet, network: Network, ringed: bool) -> Iterator[Sample]:
    for mark, words in _LINES.items():
        yield _line(sheet, mark), words
    if ringed:
        yield (lambda x, y: hatched_ring(sheet.canvas, x, y)), "different from a sound machine"
    parts = [original(part) for part in network.parts]
    kinds: dict[str, Part] = {}
    for part in parts:
        kinds.setdefault(part.kind, part)
    said = set()
    for kind, part in kinds.items():
        for shows, words in _SHOWN.get(kind, (("", _WORDS.get(kind, kind)),)):
            if words not in said or kind in _SHOWN:
                said.add(words)
                sample = Contact("", "", "") if isinstance(part, Contact) else part
                yield _symbol(sheet, sample, shows), words
    movers: dict[str, Contact] = {}
    for part in parts:
        if isinstance(part, Contact) and part.by is not None:
            movers.setdefault(type(part.by).__name__, part)
    for name, contact in movers.items():
        yield _symbol(sheet, contact, "open"), _MOVED[name]


def _line(sheet: Sheet, mark: str) -> Callable[[float, float], None]:
    def draw(x: float, y: float) -> None:
        style = {"stroke": colour_of(mark, sheet.canvas), "stroke_width": WEIGHTS[mark]}
        sheet.canvas.line(x, y - 14, x, y + 14, **style)
        if mark == "live":
            arrow_head(sheet.canvas, x, y, True)

    return draw


def _symbol(sheet: Sheet, part: Part, shows: str) -> Callable[[float, float], None]:
    standing = Standing(replace(part, name=""), "under voltage", shows)
    return lambda x, y: draw_symbol(sheet.canvas, x, y, standing)
