"""Materials of stray pieces: permeability, conductivity, density, and whether they are seen."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from tripmargin.ground.languages import say

__all__ = ["Material", "material", "materials"]


@dataclass(frozen=True, slots=True)
class Material:
    """One row of the table of materials."""

    name: str
    aliases: tuple[str, ...]  # other words people use
    relative_permeability: float  # the value used
    relative_permeability_range: tuple[float, float]  # what is met in practice
    conductivity: float  # S/m
    density: float  # kg/m^3
    visible: str  # "yes", "hardly" or "no"
    because: str  # one plain sentence, in `table_words` for the catalogues: `say(row.because)`
    source: str

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI, with the unit in each key."""
        return {
            "name": self.name,
            "relative_permeability": self.relative_permeability,
            "relative_permeability_range": list(self.relative_permeability_range),
            "conductivity_S_per_m": self.conductivity,
            "density_kg_per_m3": self.density,
            "visible": self.visible,
            "because": self.because,
            "source": self.source,
        }


@cache
def materials() -> dict[str, Material]:
    """Every material by its name, in the order of the table.

    Examples
    --------
    >>> materials()["steel"].relative_permeability
    200.0
    """
    import tomllib
    from importlib.resources import files

    text = files(__package__).joinpath("materials.toml").read_text(encoding="utf-8")
    rows = tomllib.loads(text)["material"]
    return {row["name"]: _material_from(row) for row in rows}


@cache
def material(name: str) -> Material:
    """The material of that name or of another word for it.

    Raises
    ------
    ValueError
        If the table has no such material; the nearest known name is given.

    Examples
    --------
    >>> material("aluminum").name
    'aluminium'
    """
    words = {alias: row for row in materials().values() for alias in (row.name, *row.aliases)}
    wanted = " ".join(str(name).lower().split())
    if wanted in words:
        return words[wanted]
    import difflib

    near = difflib.get_close_matches(wanted, words, n=1)
    known = ", ".join(materials())
    if near:
        raise ValueError(
            say(
                "material = {name!r}: not in the table. Did you mean {near!r}? Known: {known}.",
                name=name,
                near=near[0],
                known=known,
            )
        )
    raise ValueError(
        say("material = {name!r}: not in the table. Known: {known}.", name=name, known=known)
    )


def _material_from(row: dict[str, Any]) -> Material:
    low, high = row["relative_permeability_range"]
    return Material(
        name=row["name"],
        aliases=tuple(row["aliases"]),
        relative_permeability=float(row["relative_permeability"]),
        relative_permeability_range=(float(low), float(high)),
        conductivity=1.0 / float(row["resistivity"]),
        density=float(row["density"]),
        visible=row["visible"],
        because=row["because"],
        source=row["source"],
    )
