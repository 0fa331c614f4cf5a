"""Which faults look the same from outside, as a table."""

from __future__ import annotations

from tripmargin.faultfinding.charts.alike import Alike
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
            ", ".join(name.removeprefix("mend ") for name in group.repairs),
        ]
        for group in alike.groups
    ]
    return ("faults that look the same", "count", "per_1000_h", "one_repair", "repairs"), rows


def alike_section(alike: Alike) -> Section:
    """The groups, and the fractions after IEEE 1522."""
    return Section("Faults that look the same from outside", alike_lines(alike), alike_table(alike))


def alike_lines(alike: Alike) -> list[str]:
    """How much the looks detect and isolate, in sentences."""
    sizes = ", ".join(f"{n}: {percent(share)}" for n, share in alike.isolated.items())
    return [
        f"{alike.looks} looks were compared. By rate they detect {percent(alike.detected)} of the"
        f" single faults, and narrow down {percent(alike.one_repair)} to one repair.",
        f"Narrowed down to a group of so many faults at most: {sizes}. Fractions after IEEE 1522,"
        " from memory.",
        "Where one repair does not mend a whole group, parts are replaced in the order of chance"
        " and price, or measured after taking something apart.",
    ]
