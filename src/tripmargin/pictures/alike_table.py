"""Which faults look the same from outside, as a table."""

from __future__ import annotations

from tripmargin.faultfinding.charts.alike import Alike
from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.ground.units import percent
from tripmargin.pictures.page import Cell, Section, Table


def alike_table(alike: Alike) -> Table:
    """One row for each group of faults that no look tells apart; rates per 1000 operating hours."""
    rows: list[list[Cell]] = [
        [
            "; ".join(group.texts),
            len(group.faults),
            round(group.rate, 6),
            "yes" if group.one_repair else "no",
            ", ".join(as_written(name.removeprefix("mend ")) for name in group.repairs),
        ]
        for group in alike.groups
    ]
    headers = (
        later("faults that look the same"),
        later("count"),
        later("per_1000_h"),
        later("one_repair"),
        later("repairs"),
    )
    return headers, rows


def alike_section(alike: Alike) -> Section:
    """The groups, and the fractions after IEEE 1522."""
    title = say("Faults that look the same from outside")
    return Section(title, alike_lines(alike), alike_table(alike))


def alike_lines(alike: Alike) -> list[str]:
    """How much the looks detect and isolate, in sentences."""
    sizes = ", ".join(f"{n}: {percent(share)}" for n, share in alike.isolated.items())
    return [
        say(
            "{looks} looks were compared. By rate they detect {detected} of the single faults, and"
            " narrow down {narrowed} to one repair.",
            looks=alike.looks,
            detected=percent(alike.detected),
            narrowed=percent(alike.one_repair),
        ),
        say(
            "Narrowed down to a group of so many faults at most: {sizes}. Fractions after IEEE"
            " 1522, from memory.",
            sizes=sizes,
        ),
        say(
            "Where one repair does not mend a whole group, parts are replaced in the order of"
            " chance and price, or measured after taking something apart."
        ),
    ]
