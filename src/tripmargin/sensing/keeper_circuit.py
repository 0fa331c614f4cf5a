"""The magnetic circuit inside a plate: boxes joined through their faces.

Flux runs from box to box and leaves only through the plate's faces, so it is conserved exactly, box
by box. The three mirror planes of the plate split every field into eight parity classes, each with
an octant of its own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.sensing.keeper_mesh import Applied, Edges
from tripmargin.sensing.keeper_panels import FACES, SIGNS, Signs, image_sign, panel_areas

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Line:
    """Boxes in a row, from a mirror plane (face 0) to the plate's face, of unit cross-section.

    The flux changes linearly within a box and its energy is taken so (the lowest Raviart-Thomas
    element). On like boxes a plainer circuit, A / d from middle to middle with the field read in
    the faces' middles, was 3 % off a magnet's image where this is 1 %.
    """

    modes: Floats  # (boxes, modes) v with K v = rate H v, v^T H v = 1: K the circuit, H lengths
    rates: Floats  # (modes,) 1/m^2
    outlet: Floats  # (modes,) 1/m, from the plate's face to each mode
    conductance: float  # 1/m, of the plate's face itself
    areas: Floats  # (boxes, readings) m, share of each field reading in its box
    inflow: Floats  # (faces, readings) flux density through each face by the field's readings


def line(edges: Floats, parity: int) -> Line:
    """One axis of the circuit, for a potential that is even (+1) or odd (-1) about its plane."""
    steps = np.diff(edges)
    boxes, (places, weights) = len(steps), _readings(len(steps))
    energy = np.zeros((boxes + 1, boxes + 1))
    areas = np.zeros((boxes, boxes, len(places)))
    drive = np.zeros((boxes + 1, boxes, len(places)))
    for box, step in enumerate(steps):
        energy[box : box + 2, box : box + 2] += step / 6 * np.array([[2.0, 1.0], [1.0, 2.0]])
        areas[box, box] = step * weights
        drive[box, box] = step * weights * (1 - places)
        drive[box + 1, box] = step * weights * places
    open_faces = slice(1 if parity > 0 else 0, None)  # even: nothing through the mirror plane
    ease = np.zeros_like(energy)
    ease[open_faces, open_faces] = np.linalg.inv(energy[open_faces, open_faces])
    leaving = np.eye(boxes, boxes + 1, 1) - np.eye(boxes, boxes + 1)
    scale = 1 / np.sqrt(steps)
    rates, vectors = np.linalg.eigh(leaving @ ease @ leaving.T * np.outer(scale, scale))
    modes = vectors * scale[:, None]
    return Line(
        modes=modes,
        rates=rates,
        outlet=modes.T @ leaving @ ease[:, -1],
        conductance=float(ease[-1, -1]),
        areas=areas.reshape(boxes, -1),
        inflow=ease @ drive.reshape(boxes + 1, -1),
    )


def _readings(boxes: int) -> tuple[Floats, Floats]:
    """Gauss points within a box, 0 to 1, and weights: two, or one in the few layers of a plate."""
    nodes, weights = np.polynomial.legendre.leggauss(1 if boxes <= 4 else 2)
    return (nodes + 1) / 2, weights / 2


@dataclass(frozen=True, slots=True)
class Circuit:
    """One parity class of the circuit, per unit of permeability; conductances in m."""

    lines: tuple[Line, Line, Line]
    rates: Floats  # (modes,) 1/m^2
    coupling: Floats  # (modes, panels) m^(-1/2), of each panel to each mode
    conductance: Floats  # (panels,) m

    def surface_operator(self) -> Floats:
        """Flux in through each panel per potential on each panel, (panels, panels), m."""
        inner = self.coupling.T @ (self.coupling / self.rates[:, None])
        operator: Floats = np.diag(self.conductance) - inner
        return operator

    def applied_flux(self, fields: Floats) -> Floats:
        """Flux of the applied fields out of each panel, with none left over in any box.

        `fields` (x, y, z, 3, K) in T at the readings; (panels, K) in T m^2 is returned. What the
        readings miss of div B = 0 is sent out the way of least reluctance.
        """
        excess: Floats | float = 0.0
        outer = []
        for axis in range(3):
            flux = fields[..., axis, :]
            for other, row in enumerate(self.lines):
                flux = _along(row.inflow if other == axis else row.areas, flux, other)
            excess = excess + np.diff(flux, axis=axis)
            outer.append(np.take(flux, -1, axis=axis))
        for axis, row in enumerate(self.lines):
            excess = _along(row.modes.T, np.asarray(excess), axis)
        columns = fields.shape[-1]
        settled = np.asarray(excess).reshape(-1, columns) / self.rates[:, None]
        panels = np.concatenate([outer[normal].reshape(-1, columns) for normal, _, _ in FACES])
        flux = panels - self.coupling.T @ settled
        return np.asarray(flux)


def circuit(edges: Edges, parity: Signs) -> Circuit:
    """The circuit of one parity class of the potential (+1 even, -1 odd, about x, y, z = 0).

    The boxes form a product grid, so the circuit's modes are products of three lines' modes.
    """
    x, y, z = (line(edge, even) for edge, even in zip(edges, parity, strict=True))
    lines = (x, y, z)
    rates = np.add.outer(np.add.outer(x.rates, y.rates), z.rates).ravel()
    couplings, conductances = [], []
    for face in FACES:
        area = panel_areas(edges, face)
        parts = [row.modes for row in lines]
        parts[face[0]] = lines[face[0]].outlet[None]
        joint = np.einsum("ia,jb,kc->abcijk", *parts).reshape(len(rates), -1)
        couplings.append(joint * area)
        conductances.append(lines[face[0]].conductance * area)
    return Circuit(lines, rates, np.concatenate(couplings, axis=1), np.concatenate(conductances))


def applied_readings(edges: Edges, applied: Applied) -> dict[Signs, Floats]:
    """The applied fields at the readings of the octant, (x, y, z, 3, K) in T, split by parity."""
    along = []
    for edge in edges:
        places, _ = _readings(len(edge) - 1)
        along.append((edge[:-1, None] + np.diff(edge)[:, None] * places).ravel())
    octant = np.stack(np.meshgrid(*along, indexing="ij"), axis=-1)
    images = np.array(SIGNS, dtype=float)
    fields = applied((images[:, None] * octant.reshape(-1, 3)).reshape(-1, 3))
    fields = fields.reshape(len(SIGNS), *octant.shape, -1) * images[:, None, None, None, :, None]
    split = {}
    for parity in SIGNS:
        weights = np.array([image_sign(parity, signs) for signs in SIGNS]) / len(SIGNS)
        split[parity] = np.tensordot(weights, fields, axes=1)
    return split


def _along(matrix: Floats, grid: Floats, axis: int) -> Floats:
    """The matrix applied along one axis of a grid."""
    return np.moveaxis(np.tensordot(matrix, grid, axes=(1, axis)), 0, axis)
