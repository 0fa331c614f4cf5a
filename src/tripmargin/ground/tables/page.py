"""The reference page of everyday metal and materials, written from the tables."""

from __future__ import annotations

from collections.abc import Iterable

from tripmargin.ground.tables.everyday_metal import EverydayPiece, everyday_metal
from tripmargin.ground.tables.materials import Material, material, materials

__all__ = ["everyday_metal_page"]

_HEAD = """\
# Everyday metal in the field

Written from the tables by `python -m tripmargin.ground.tables.page`; a test fails when it is stale.

Each name below can stand wherever a piece is asked for, such as `must_stop = "M12x40 bolt"`. A bolt
of a thread in the table may have any length. After the name may stand `across`, `along` or
`upright`, and a material.

A piece is taken as a ball, a rod or a plate, and a rod or a plate as the ellipsoid of the same
proportions and the same volume. A bolt is a rod as long as shank and head, as thick as its steel
asks for. A piece with holes or gaps (nut, washer, link, clip) is the solid of its proportions with
its steel. Against a moment method on a coarse mesh a square bar reads 6 % high along and 15 % low
across, a bolt 15 to 35 % low, and nuts, washers and links 10 to 45 % low. Low is the safe side.

"From memory" means that the standard was not read for this table. Measure a piece where it matters.

## Pieces

| Name | Taken as | Dimensions, mm | Mass, g | Material | Seen | Dimensions from |
|---|---|---|---|---|---|---|
"""

_MATERIALS = """
## Materials

Relative permeability: the value used, and what is met in practice. Conductivity in MS/m, density in
kg/m^3.

| Material | Permeability | Range | Conductivity | Density | Seen | Why | Source |
|---|---|---|---|---|---|---|---|
"""


def everyday_metal_page() -> str:
    """Markdown of the page docs/reference/everyday-metal.md.

    Examples
    --------
    >>> everyday_metal_page().splitlines()[0]
    '# Everyday metal in the field'
    """
    pieces = "".join(_line(_piece_cells(row)) for row in everyday_metal().values())
    made_of = "".join(_line(_material_cells(row)) for row in materials().values())
    return _HEAD + pieces + _MATERIALS + made_of


def _piece_cells(row: EverydayPiece) -> tuple[str, ...]:
    made_of = material(row.material)
    sizes = " x ".join(f"{value * 1e3:.3g}" for value in row.dimensions)
    mass = row.volume * made_of.density * 1e3
    grams = f"{mass:.0f}" if mass >= 100.0 else f"{mass:.3g}"
    return row.name, row.modelled_as, sizes, grams, made_of.name, made_of.visible, row.source


def _material_cells(row: Material) -> tuple[str, ...]:
    low, high = row.relative_permeability_range
    return (
        row.name,
        f"{row.relative_permeability:g}",
        f"{low:g} to {high:g}",
        f"{row.conductivity / 1e6:.3g}",
        f"{row.density:g}",
        row.visible,
        row.because,
        row.source,
    )


def _line(cells: Iterable[str]) -> str:
    return f"| {' | '.join(cells)} |\n"


if __name__ == "__main__":
    print(everyday_metal_page(), end="")
