"""A piece of metal: what it is, how it lies, and how it answers the sensor's field."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.errors import QuantityError
from tripmargin.ground.languages import say
from tripmargin.ground.tables import everyday_piece, material
from tripmargin.sensing.attitudes import Direction, frame
from tripmargin.sensing.demagnetizing import polarizability
from tripmargin.sensing.piece_words import read_piece_words
from tripmargin.sensing.shapes import DIMENSIONS, averaging_points, equivalent_semi_axes, length

__all__ = ["Piece"]

_AS_GIVEN = "dimensions as given"
_STEEL = "steel"


def _no_moment() -> NDArray[np.float64]:
    return np.zeros(3)


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A piece of metal, its attitude, and the ellipsoid that stands for it.

    The first body axis of a rod or a plate is its length, the last its thin side. A rod or a plate
    is the ellipsoid of the same proportions and the same volume. Use `dataclasses.replace` for a
    measured permeability or a remanent moment.

    Examples
    --------
    >>> bolt = Piece.from_text("M8x30 bolt along")
    >>> bolt.kind, round(bolt.mass * 1000), bolt.orientation[:, 0]
    ('rod', 16, array([0., 1., 0.]))
    """

    name: str
    kind: str  # "ball", "rod", "plate"; "ellipsoid" only where one is made as such
    dimensions: tuple[float, ...]  # m: (diameter,), (diameter, length), (length, width, thickness)
    semi_axes: NDArray[np.float64]  # m, (3,), of the equivalent ellipsoid, along its body axes
    orientation: NDArray[np.float64]  # (3, 3), columns: body axes in (x, y, z)
    relative_permeability: float
    conductivity: float  # S/m
    material: str
    source: str  # where the dimensions come from
    attitude_given: bool = False  # whether someone said how it lies
    remanent_moment: NDArray[np.float64] = field(default_factory=_no_moment)  # A m^2, in (x, y, z)

    def __post_init__(self) -> None:
        shapes = {"semi_axes": (3,), "orientation": (3, 3), "remanent_moment": (3,)}
        for name, shape in shapes.items():
            values = np.array(getattr(self, name), dtype=np.float64)
            if values.shape != shape or not np.isfinite(values).all():
                raise ValueError(
                    say(
                        "{name} of a piece: finite numbers of shape {shape} are needed.",
                        name=name,
                        shape=shape,
                    )
                )
            values.flags.writeable = False
            object.__setattr__(self, name, values)

    @classmethod
    def ball(cls, diameter: float, material: str = _STEEL) -> Piece:
        """Make a ball of that diameter (m).

        Raises
        ------
        ValueError
            If the diameter is not positive and finite, or the material not in the table.
        """
        return _shape("ball", (diameter,), material)

    @classmethod
    def rod(
        cls,
        diameter: float,
        length: float,
        axis: Direction | None = None,
        material: str = _STEEL,
    ) -> Piece:
        """Make a round rod (diameter and length in m); `axis` is where its length points.

        `axis` is "x" (across the roll, taken where none is given), "y" (with the crop),
        "z" (upright) or a vector.

        Raises
        ------
        ValueError
            If a dimension is not positive and finite, or the axis or the material not known.
        """
        rod = _shape("rod", (diameter, length), material)
        return rod if axis is None else rod.turned(axis)

    @classmethod
    def plate(
        cls,
        length: float,
        width: float,
        thickness: float,
        axis: Direction | None = None,
        *,
        normal: Direction | None = None,
        material: str = _STEEL,
    ) -> Piece:
        """Make a flat plate (m); `axis` is where its length points, `normal` its thin side.

        Left out, it lies flat with its length across the roll.

        Raises
        ------
        ValueError
            If a dimension is not positive and finite, `axis` and `normal` are not square to each
            other, or the material is not known.
        """
        plate = _shape("plate", (length, width, thickness), material)
        return plate if axis is None and normal is None else plate.turned(axis, normal)

    @classmethod
    def ellipsoid(cls, semi_axes: Sequence[float], material: str = _STEEL) -> Piece:
        """Make an ellipsoid taken as a point, to compare with closed forms (semi-axes in m)."""
        if len(semi_axes) != 3:
            raise ValueError(say("semi-axes = {value!r}: an ellipsoid has three.", value=semi_axes))
        return _shape("ellipsoid", tuple(2.0 * axis for axis in semi_axes), material)

    @classmethod
    def from_table(
        cls, name: str, axis: Direction | None = None, *, material: str | None = None
    ) -> Piece:
        """Take a piece from the table of everyday metal, such as "M8x30 bolt".

        Raises
        ------
        ValueError
            If the table has no such name; the nearest one is given.
        """
        row = everyday_piece(name)
        piece = _piece(row.name, row.kind, row.dimensions, material or row.material)
        named = row.name if piece.material == row.material else f"{row.name} of {piece.material}"
        piece = replace(piece, name=named, source=row.source)
        return piece if axis is None else piece.turned(axis)

    @classmethod
    def from_text(cls, text: str) -> Piece:
        """Read a piece in words: "20 mm ball", "M12x40 bolt along", "8 mm x 120 mm rod".

        Raises
        ------
        QuantityError
            If the words are not understood; it says what is allowed and the nearest table name.

        Examples
        --------
        >>> Piece.from_text("1/2 in stainless ball").name
        '12.7 mm ball of stainless steel'
        """
        words = read_piece_words(text)
        if words.table_name is not None:
            return cls.from_table(words.table_name, words.axis, material=words.material)
        try:
            piece = _shape(words.kind, words.dimensions, words.material or _STEEL)
        except ValueError as error:
            problem = str(error).rstrip(".")
            raise QuantityError(text, problem, say("dimensions above zero")) from None
        return piece if words.axis is None else piece.turned(words.axis)

    @property
    def volume(self) -> float:
        """Volume of the metal, m^3."""
        return float(4.0 / 3.0 * np.pi * self.semi_axes.prod())

    @property
    def mass(self) -> float:
        """Mass by the material's density, kg."""
        return self.volume * material(self.material).density

    def scaled(self, factor: float) -> Piece:
        """Return the same piece with every dimension times `factor`.

        A remanent moment grows with the volume. Dimensions in a name follow; a name from the table
        says how many times.
        """
        size = length("factor", factor, unit="")
        dimensions = tuple(size * value for value in self.dimensions)
        if self.source == _AS_GIVEN:
            name = _named(self.kind, dimensions, self.material)
        else:
            name = f"{self.name}, {size:g} times"
        return replace(
            self,
            name=name,
            dimensions=dimensions,
            semi_axes=size * self.semi_axes,
            remanent_moment=size**3 * self.remanent_moment,
        )

    def turned(self, axis: Direction | None, normal: Direction | None = None) -> Piece:
        """Return the same piece with its length along `axis`, its thin side towards `normal`.

        A remanent moment turns with it.
        """
        orientation = frame(axis, normal)
        moment = orientation @ self.orientation.T @ self.remanent_moment
        return replace(self, orientation=orientation, remanent_moment=moment, attitude_given=True)

    def moment_tensor(self) -> NDArray[np.float64]:
        """Polarizability in (x, y, z), shape (3, 3), m^3: moment = tensor @ B0 / mu0."""
        alpha = polarizability(self.semi_axes, self.relative_permeability)
        return np.asarray((self.orientation * alpha) @ self.orientation.T)

    def averaging_points(self, n: int = 5) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Say where the fields of magnets and windings are averaged, each by itself.

        A ball is one point, a rod `n` along its length, a plate `n` along its length times as many
        across as keep the spacing.

        Parameters
        ----------
        n : int
            Points along the length, 1 or more.

        Returns
        -------
        offsets : ndarray, shape (k, 3), m
            From the piece's centre, in (x, y, z).
        weights : ndarray, shape (k,)
            They sum to 1.

        Notes
        -----
        Without it a long piece that points along the flow reads up to 2.4 times too strong
        (reference cases of the moment method).
        """
        offsets, weights = averaging_points(self.kind, self.dimensions, n)
        return offsets @ self.orientation.T, weights

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI, with the unit in each key."""
        return {
            "name": self.name,
            "kind": self.kind,
            "dimensions_m": list(self.dimensions),
            "semi_axes_m": self.semi_axes.tolist(),
            "orientation": self.orientation.tolist(),
            "attitude_given": self.attitude_given,
            "material": self.material,
            "relative_permeability": self.relative_permeability,
            "conductivity_S_per_m": self.conductivity,
            "remanent_moment_A_m2": self.remanent_moment.tolist(),
            "mass_kg": self.mass,
            "source": self.source,
        }

    # Arrays have no single truth, so that equality and hash are spelled out.
    def _key(self) -> tuple[object, ...]:
        words = (self.name, self.kind, self.material, self.source, self.attitude_given)
        numbers = (self.dimensions, self.relative_permeability, self.conductivity)
        arrays = (self.semi_axes, self.orientation, self.remanent_moment)
        return (*words, *numbers, *(tuple(values.ravel().tolist()) for values in arrays))

    def __eq__(self, other: object) -> bool:
        return self._key() == other._key() if isinstance(other, Piece) else NotImplemented

    def __hash__(self) -> int:
        return hash(self._key())


def _shape(kind: str, dimensions: tuple[float, ...], material_name: str) -> Piece:
    """Make a plain shape that lies across the roll, flat; its dimensions are checked."""
    checked = tuple(map(length, DIMENSIONS[kind], dimensions))
    piece = _piece("", kind, checked, material_name)
    return replace(piece, name=_named(kind, checked, piece.material))


def _piece(name: str, kind: str, dimensions: tuple[float, ...], material_name: str) -> Piece:
    made_of = material(material_name)
    return Piece(
        name=name,
        kind=kind,
        dimensions=dimensions,
        semi_axes=equivalent_semi_axes(kind, dimensions),
        orientation=np.eye(3),
        relative_permeability=made_of.relative_permeability,
        conductivity=made_of.conductivity,
        material=made_of.name,
        source=_AS_GIVEN,
    )


def _named(kind: str, dimensions: tuple[float, ...], material_name: str) -> str:
    """Name a shape by its dimensions and, unless it is steel, by what it is made of."""
    name = f"{' x '.join(f'{value * 1e3:.6g} mm' for value in dimensions)} {kind}"
    return name if material_name == _STEEL else f"{name} of {material_name}"
