"""The key of the current paths: lines, and the symbols that the picture uses, in words."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from tripmargin.circuit import Contact, Network, Part
from tripmargin.circuit.parts import original
from tripmargin.ground.languages import later, say, say_as
from tripmargin.pictures.circuit_symbols import (
    WEIGHTS,
    Standing,
    arrow_head,
    colour_of,
    draw_symbol,
    hatched_ring,
)
from tripmargin.pictures.current_paths_words import shown_words
from tripmargin.pictures.sheet import Sheet
from tripmargin.pictures.svg import text_width
from tripmargin.pictures.words import said

_SHOWN = {
    "lamp": (("on", later("lamp on")), ("dim", ""), ("off", "")),
    "led": (("on", later("LED on")), ("dim", ""), ("off", "")),
    "buzzer": (
        ("on", later("buzzer sounds")),
        ("dim", later("sounds weakly")),
        ("off", later("silent")),
    ),
    "contact": (("closed", later("contact closed")), ("open", "")),
    "coil": (("pulled", later("relay pulled")), ("at rest", "")),
    "fuse": (("whole", later("fuse")), ("blown", "")),
}
"""By kind: how it may stand, and that in words; where there are none, as the picture says it."""
_WORDS = {
    "wire": later("wire"),
    "connector": later("plug connection"),
    "ground": later("ground joint"),
    "winding": later("winding"),
    "resistor": later("resistor"),
    "suppression": later("resistor"),
    "load": later("what a module draws"),
    "diode": later("diode"),
    "source": later("battery cells"),
}
_MOVED = {
    "BySwitch": later("moved by hand"),
    "ByRelay": later("moved by a relay"),
    "ByModule": later("switched by the module"),
    "ByPlunger": later("moved by the plunger"),
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
    lines = {
        "live": say("carries current, arrow: its way"),
        "under voltage": say("under voltage, no current"),
        "dead": say_as("line", "dead"),
    }
    for mark, words in lines.items():
        yield _line(sheet, mark), words
    if ringed:
        different = say("different from a sound machine")
        yield (lambda x, y: hatched_ring(sheet.canvas, x, y)), different
    parts = [original(part) for part in network.parts]
    kinds: dict[str, Part] = {}
    for part in parts:
        kinds.setdefault(part.kind, part)
    named = set()
    for kind, part in kinds.items():
        for shows, words in _SHOWN.get(kind, (("", _WORDS.get(kind, kind)),)):
            if words not in named or kind in _SHOWN:
                named.add(words)
                sample = Contact("", "", "") if isinstance(part, Contact) else part
                yield _symbol(sheet, sample, shows), said(words) or shown_words(shows)
    movers: dict[str, Contact] = {}
    for part in parts:
        if isinstance(part, Contact) and part.by is not None:
            movers.setdefault(type(part.by).__name__, part)
    for name, contact in movers.items():
        yield _symbol(sheet, contact, "open"), say(_MOVED[name])


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
