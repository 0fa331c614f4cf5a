"""How far a set of tests shows that something is broken, and what.

A fault's signature is what every test shows with that fault present. A fault is detected where its
signature differs from the healthy one; detected faults of one signature form an ambiguity group:
no test of the set tells them apart. Every fraction is weighted and is of all faults, detected or
not. Definitions of IEEE 1522 (fraction of faults detected; fraction of faults isolated to a group
of at most n), from memory; the standard counts replaceable units in a group, here faults count.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray


def detected_fraction(signatures: ArrayLike, weights: ArrayLike, healthy: ArrayLike) -> float:
    """Weighted fraction of the faults that at least one test shows (IEEE 1522, from memory).

    Parameters
    ----------
    signatures : array_like, shape (F, T)
        What each of T tests shows under each of F faults: labels, compared for equality only;
        where some are words and some numbers, an array of objects.
    weights : array_like, shape (F,)
        Rates or chances of the faults, in one unit of any kind.
    healthy : array_like, shape (T,)
        What each test shows on a healthy machine.

    Returns
    -------
    float
        From 0 to 1.

    Raises
    ------
    ValueError
        If the shapes do not fit, or the weights are not finite, negative or all 0.

    Examples
    --------
    >>> shows = [["on", "off"], ["off", "off"], ["off", "off"], ["on", "on"]]
    >>> detected_fraction(shows, [1.0, 3.0, 2.0, 4.0], healthy=["on", "on"])
    0.6
    """
    table, normal = _tables(signatures, healthy)
    return _fraction(weights, _detected(table, normal))


def isolated_fraction(
    signatures: ArrayLike, weights: ArrayLike, healthy: ArrayLike, *, group: int = 1
) -> float:
    """Weighted fraction of the faults that the tests narrow down to a small group.

    Parameters
    ----------
    signatures : array_like, shape (F, T)
        What each of T tests shows under each of F faults.
    weights : array_like, shape (F,)
        Rates or chances of the faults, in one unit of any kind.
    healthy : array_like, shape (T,)
        What each test shows on a healthy machine.
    group : int
        Greatest number of faults in the group; 1 asks for the very fault.

    Returns
    -------
    float
        From 0 to 1, never more than the detected fraction; equal to it for a large enough group.

    Raises
    ------
    ValueError
        If the group is below 1, the shapes do not fit, or the weights are not finite, negative or
        all 0.

    Notes
    -----
    IEEE 1522, from memory. The denominator is all faults, not the detected ones.

    Examples
    --------
    >>> shows = [["on", "off"], ["off", "off"], ["off", "off"], ["on", "on"]]
    >>> isolated_fraction(shows, [1.0, 3.0, 2.0, 4.0], healthy=["on", "on"])
    0.1
    >>> isolated_fraction(shows, [1.0, 3.0, 2.0, 4.0], healthy=["on", "on"], group=2)
    0.6
    """
    if group < 1:
        raise ValueError(f"group = {group}: a group has at least 1 fault")
    table, normal = _tables(signatures, healthy)
    small = np.zeros(len(table), dtype=bool)
    for each in ambiguity_groups(table, normal):
        small[list(each)] = len(each) <= group
    return _fraction(weights, small)


def ambiguity_groups(signatures: ArrayLike, healthy: ArrayLike) -> tuple[tuple[int, ...], ...]:
    """Return the detected faults in groups that no test tells apart.

    Parameters
    ----------
    signatures : array_like, shape (F, T)
        What each of T tests shows under each of F faults.
    healthy : array_like, shape (T,)
        What each test shows on a healthy machine.

    Returns
    -------
    tuple of tuples of int
        Numbers of the faults, each detected fault in one group, alone where the tests name it; in
        the order of the first fault of each. Undetected faults are in none: they look healthy.

    Raises
    ------
    ValueError
        If the shapes do not fit.

    Examples
    --------
    >>> shows = [["on", "off"], ["off", "off"], ["off", "off"], ["on", "on"]]
    >>> ambiguity_groups(shows, healthy=["on", "on"])
    ((0,), (1, 2))
    """
    table, normal = _tables(signatures, healthy)
    groups: dict[tuple[Any, ...], list[int]] = {}
    for fault in np.flatnonzero(_detected(table, normal)).tolist():
        groups.setdefault(tuple(table[fault].tolist()), []).append(fault)
    return tuple(tuple(each) for each in groups.values())


def _tables(signatures: ArrayLike, healthy: ArrayLike) -> tuple[NDArray[Any], NDArray[Any]]:
    table, normal = np.asarray(signatures), np.asarray(healthy)
    if table.ndim != 2 or normal.shape != table.shape[1:]:
        raise ValueError(
            f"signatures of shape {table.shape} and a healthy row of shape {normal.shape}:"
            " one row a fault, and one healthy label a test"
        )
    return table, normal


def _detected(table: NDArray[Any], normal: NDArray[Any]) -> NDArray[np.bool_]:
    differs: NDArray[np.bool_] = np.any(table != normal, axis=1)
    return differs


def _fraction(weights: ArrayLike, chosen: NDArray[np.bool_]) -> float:
    """Weight of the chosen faults over that of all."""
    each = np.asarray(weights, dtype=float)
    if each.shape != chosen.shape:
        raise ValueError(f"weights of shape {each.shape}: one for each of {len(chosen)} faults")
    if not np.all(np.isfinite(each)) or np.any(each < 0) or not each.sum() > 0:
        raise ValueError("weights must be finite, 0 or more, and not all 0")
    return float(each[chosen].sum() / each.sum())
