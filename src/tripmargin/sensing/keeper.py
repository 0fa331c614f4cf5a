"""The keeper: a soft plate that magnets and windings magnetise, and what it adds to their field."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tripmargin.ground.languages import say
from tripmargin.sensing.keeper_charges import charges_field, split_panels
from tripmargin.sensing.keeper_circuit import applied_readings, circuit
from tripmargin.sensing.keeper_mesh import Edges, octant_edges
from tripmargin.sensing.keeper_panels import FACES, SIGNS, Signs, image_potentials, image_sign

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class KeeperSources:
    """Even charges on rectangles of a plate's faces: what the magnetised plate is from outside.

    A charge q gives the flux density q / (4 pi r^2); one column per applied field, in the unit of
    that field times m^2.
    """

    centres: Floats  # (panels, 3) m
    halves: Floats  # (panels, 3) m, half lengths, 0 along the normal
    charges: Floats  # (panels, K) T m^2, or T m^2 per ampere


def solve_keeper(
    centre: ArrayLike,
    size: ArrayLike,
    relative_permeability: float,
    applied: Callable[[Floats], ArrayLike],
    fineness: float = 1.0,
) -> KeeperSources:
    """Magnetise a plate of even, linear permeability by each applied field.

    Parameters
    ----------
    centre : array_like, shape (3,), m
    size : array_like, shape (3,), m
        Full lengths, edges along the axes; the thinnest may lie along any axis.
    relative_permeability : float
        1 or more; 1 adds nothing.
    applied : callable
        Points (n, 3) in m to the K applied fields there, (n, 3, K) in T: say the magnets' in
        column 0 and the windings' per ampere in column 1. Asked on and in the plate only.
    fineness : float
        Multiplies the number of cells along each axis; 1 is good to about 0.2 % of the largest
        field from 30 mm above the plate outwards, under magnets as long as the plate; to 1 % under
        a small one near a large plate.

    Returns
    -------
    KeeperSources

    Raises
    ------
    ValueError
        If a length is not positive and finite, or the permeability is below 1.

    Notes
    -----
    With even permeability the plate has charges on its surface only. It is cut into boxes. Flux
    from box to box and out through the faces is conserved exactly, driven by the applied field and
    by the charges' potential, chi times what a permeability of one would pass; what comes out of a
    face is its charge. So there is a magnetic circuit inside, and outside the exact potential of
    even charges on rectangles, averaged over rectangles. Eliminating the boxes leaves
    (1 + chi S P) q = chi f per parity class, with S the circuit as seen from its faces, P the
    potentials and f the applied flux out of each face.
    The usual equation for the charges alone (half the charge plus the others' normal field) is
    nearly singular for a thin plate of high permeability, as flux along the plate is then a small
    difference of large ones; here it is not.

    Saturation is left out: thin keepers under opposed magnets may carry more than they can.

    Examples
    --------
    A plate of 200 x 60 x 5 mm in an even field of 1 mT along its length adds to the field off its
    ends, here 50 mm away from one:

    >>> along_x = lambda points: np.tile([[1e-3], [0.0], [0.0]], (len(points), 1, 1))
    >>> sources = solve_keeper([0, 0, 0], [0.2, 0.06, 0.005], 1000, along_x)
    >>> (keeper_field(sources, [[0.15, 0, 0]])[0, :, 0] * 1e3).round(2)
    array([0.37, 0.  , 0.  ])
    """
    lengths, middle = np.asarray(size, dtype=float), np.asarray(centre, dtype=float)
    if lengths.shape != (3,) or not (np.isfinite(lengths).all() and (lengths > 0).all()):
        raise ValueError(
            say("a keeper's size must be three positive lengths in m, not {size!r}", size=size)
        )
    if not (np.isfinite(relative_permeability) and relative_permeability >= 1):
        raise ValueError(
            say(
                "relative permeability must be 1 or more, not {relative_permeability}",
                relative_permeability=relative_permeability,
            )
        )

    def fields(points: Floats) -> Floats:
        return np.asarray(applied(points + middle), dtype=float)

    edges = octant_edges(lengths, fields, fineness)
    images = image_potentials(edges)
    susceptibility = relative_permeability - 1.0
    charges: dict[Signs, Floats] = {}
    for parity, readings in applied_readings(edges, fields).items():
        potentials = np.zeros_like(images[parity])
        for signs, image in images.items():
            potentials += image_sign(parity, signs) * image
        net = circuit(edges, parity)
        matrix = net.surface_operator() @ (susceptibility / (4 * np.pi) * potentials)
        matrix.flat[:: len(matrix) + 1] += 1.0
        driven = susceptibility * net.applied_flux(readings)
        charges[parity] = np.asarray(np.linalg.solve(matrix, driven), dtype=np.float64)
    return _whole_plate(edges, charges, middle)


def keeper_field(sources: KeeperSources, points: ArrayLike) -> Floats:
    """Flux density that the magnetised keeper adds outside itself.

    Parameters
    ----------
    sources : KeeperSources
    points : array_like, shape (n, 3), m

    Returns
    -------
    ndarray, shape (n, 3, K), T, or T/A

    Notes
    -----
    From 30 mm outwards the charges count as points and the field is smooth in the point. Nearer,
    panels are taken exactly; the charges are still even over each panel, so closer than a panel's
    width (5 to 20 mm) the field is coarse. Inside the plate it is mu0 times the field of the
    charges, without the magnetisation.
    """
    where = np.asarray(points, dtype=float).reshape(-1, 3)
    return charges_field(where, sources.centres, sources.halves, sources.charges)


def rotate_about_x(vectors: ArrayLike, angle: float) -> Floats:
    """Vectors (..., 3) turned right-handed about +x by an angle in rad: +y goes towards +z.

    Examples
    --------
    >>> rotate_about_x([0.0, 1.0, 0.0], np.pi / 2).round(12)
    array([0., 0., 1.])
    """
    given = np.asarray(vectors, dtype=float)
    x, y, z = np.moveaxis(given, -1, 0)
    cosine, sine = np.cos(angle), np.sin(angle)
    return np.stack([x, cosine * y - sine * z, sine * y + cosine * z], axis=-1)


def _whole_plate(edges: Edges, charges: dict[Signs, Floats], middle: Floats) -> KeeperSources:
    """The panels of the whole plate from the octant's, mirrored by parity."""
    middles = [(edge[1:] + edge[:-1]) / 2 for edge in edges]
    halves = [np.diff(edge) / 2 for edge in edges]
    places, lengths = [], []
    for normal, first, second in FACES:
        place = np.empty((len(middles[first]), len(middles[second]), 3))
        length = np.zeros_like(place)
        place[..., normal] = edges[normal][-1]
        place[..., first], place[..., second] = middles[first][:, None], middles[second]
        length[..., first], length[..., second] = halves[first][:, None], halves[second]
        places.append(place.reshape(-1, 3))
        lengths.append(length.reshape(-1, 3))
    octant = np.concatenate(places)
    whole = [
        sum(image_sign(parity, signs) * charge for parity, charge in charges.items())
        for signs in SIGNS
    ]
    return KeeperSources(
        *split_panels(
            np.concatenate([octant * np.array(signs) for signs in SIGNS]) + middle,
            np.tile(np.concatenate(lengths), (len(SIGNS), 1)),
            np.concatenate(whole),
        )
    )
