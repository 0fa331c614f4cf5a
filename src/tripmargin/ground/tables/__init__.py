"""Tables of the trade, each row with its source."""

from tripmargin.ground.tables.everyday_metal import (
    EverydayPiece,
    everyday_metal,
    everyday_piece,
    find_everyday_piece,
    nearest_everyday_name,
)
from tripmargin.ground.tables.materials import Material, material, materials

__all__ = [
    "EverydayPiece",
    "Material",
    "everyday_metal",
    "everyday_piece",
    "find_everyday_piece",
    "material",
    "materials",
    "nearest_everyday_name",
]
