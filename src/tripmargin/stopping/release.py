"""Letting go: how long the hold winding's current takes to fall until the spring wins."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from tripmargin.ground.languages import say
from tripmargin.stopping.arrays import (
    Quantity,
    in_shape,
    lined_up,
    require_not_negative,
    require_positive,
)

COPPER_PER_KELVIN = 0.00393
"""Temperature coefficient of annealed copper's resistance at 20 degC, 1/K (IEC 60028)."""

CORE_LOSS_RESISTANCE = 3000.0
"""Ohm. What a winding without suppression still sees: an ideal switch opens at once, but eddy
currents in the iron let the flux fall only over some microseconds. Engineering judgement, no
source; a real contact arcs. Read the time as 'nearly nil'."""

DIODE_SLOPE_RESISTANCE = 0.05
"""Ohm, in series with a diode's forward voltage. Engineering judgement, no source."""

ZENER_SLOPE_RESISTANCE = 1.0
"""Ohm, in series with a zener's clamp voltage. Engineering judgement, no source."""

_NUMBER_OF_KIND = {"none": None, "resistor": "resistance", "diode": "voltage", "zener": "voltage"}


def copper_resistance(resistance_20: Quantity, temperature_c: Quantity) -> Quantity:
    """Resistance of a copper winding at a temperature.

    Parameters
    ----------
    resistance_20 : float or array_like, ohm
        At 20 degC. An ohmmeter on the unplugged winding, left to cool overnight, reads it.
    temperature_c : float or array_like, degC
        Of the winding. Warm to the touch is about 50, too hot to hold about 70.

    Returns
    -------
    float or ndarray, ohm

    Notes
    -----
    R = R20 (1 + 0.00393 (t - 20)), IEC 60028.

    Examples
    --------
    >>> round(copper_resistance(18.0, 75.0), 4)
    21.8907
    """
    shape, c = lined_up(resistance=resistance_20, temperature=temperature_c)
    return in_shape(c["resistance"] * (1 + COPPER_PER_KELVIN * (c["temperature"] - 20)), shape)


def suppression_number(suppression: Mapping[str, Any]) -> tuple[str, Quantity]:
    """Kind of a suppression and its one number (0 for kind none), checked.

    Raises
    ------
    ValueError
        If the kind is unknown, or its number is missing or negative, or another key is given.
    """
    kind = suppression.get("kind")
    if kind not in _NUMBER_OF_KIND:
        raise ValueError(
            say(
                "suppression kind {kind!r} is not known; allowed: none, resistor (with"
                " 'resistance' in ohm), diode or zener (with 'voltage' in volt).",
                kind=kind,
            )
        )
    key = _NUMBER_OF_KIND[kind]
    expected = {"kind"} if key is None else {"kind", key}
    if set(suppression) != expected:
        raise ValueError(
            say(
                "suppression of kind {kind!r} takes exactly the keys {expected}, got"
                " {suppression}.",
                kind=kind,
                expected=sorted(expected),
                suppression=sorted(suppression),
            )
        )
    number = np.asarray(suppression[key], dtype=float) if key else np.float64(0.0)
    require_not_negative(**{f"suppression {key or 'none'}": number})
    return kind, number


def clamp(suppression: Mapping[str, Any]) -> tuple[Quantity, Quantity]:
    """Voltage and series resistance that a suppression holds against the winding's current.

    Parameters
    ----------
    suppression : mapping
        As in a machine file: {"kind": "none"}, {"kind": "resistor", "resistance": ...},
        {"kind": "diode", "voltage": ...} or {"kind": "zener", "voltage": ...}. Kind and value
        are printed on the part or in the wiring diagram.

    Returns
    -------
    voltage : float or ndarray, V
    resistance : float or ndarray, ohm
        Outside the winding's own. A diode and a zener get a small slope resistance.

    Raises
    ------
    ValueError
        If the suppression is not one of the four.

    Examples
    --------
    >>> clamp({"kind": "resistor", "resistance": 82.0})
    (0.0, 82.0)
    >>> clamp({"kind": "diode", "voltage": 0.8})
    (0.8, 0.05)
    """
    kind, number = suppression_number(suppression)
    number = number if np.ndim(number) else float(number)
    if kind == "none":
        return 0.0, CORE_LOSS_RESISTANCE
    if kind == "resistor":
        return 0.0, number
    return number, DIODE_SLOPE_RESISTANCE if kind == "diode" else ZENER_SLOPE_RESISTANCE


def release_time(
    *,
    inductance: Quantity,
    resistance: Quantity,
    supply: Quantity,
    release_current: Quantity,
    suppression: Mapping[str, Any],
) -> Quantity:
    """Time for the hold winding's current to fall from supply / resistance to release.

    Parameters
    ----------
    inductance : float or array_like, H
        With the plunger pulled in. An inductance meter on the unplugged winding reads it.
    resistance : float or array_like, ohm
        Of the winding as warm as it is. An ohmmeter on the unplugged winding reads it.
    supply : float or array_like, V
        At the winding's plug, engine running. A voltmeter reads it.
    release_current : float or array_like, A
        Where the spring beats the magnet. Lower the supply slowly and read an ammeter in
        series when the plunger lets go.
    suppression : mapping
        See `clamp`. Its number may be an array.

    Returns
    -------
    float or ndarray, s
        Zero where the current is at or below release from the start.

    Raises
    ------
    ValueError
        If an input is out of its range, the suppression is not known, or the current never
        falls to `release_current`: that is, at zero or below behind a resistor or with no
        suppression, and below zero behind a diode or zener, which lets none flow backwards.

    Notes
    -----
    None: 0 s (the arc is not modelled). Resistor Rs: I0 exp(-t/tau), tau = L / (R + Rs). Diode
    or zener V: towards -V/R with tau = L / R, so t = tau ln[(I0 + V/R) / (Ir + V/R)]. Circuit
    texts on a current falling in an inductance.

    Examples
    --------
    >>> t = release_time(inductance=0.05, resistance=10.0, supply=12.0, release_current=0.3,
    ...                  suppression={"kind": "diode", "voltage": 0.7})
    >>> round(t, 9)
    0.006166346
    """
    kind, number = suppression_number(suppression)
    require_positive(inductance=inductance, resistance=resistance)
    require_not_negative(supply=supply)
    shape, c = lined_up(
        inductance=inductance,
        resistance=resistance,
        supply=supply,
        release_current=release_current,
        number=number,
    )
    start, release = c["supply"] / c["resistance"], c["release_current"]
    falls = ~(start <= release)  # a release current that is no number must not pass as 'at once'
    offset = c["number"] / c["resistance"] if kind in ("diode", "zener") else np.zeros_like(start)
    _require_reachable(kind, release[falls], offset[falls])
    if kind == "none":
        return in_shape(np.zeros_like(start), shape)
    outside = c["number"] if kind == "resistor" else np.zeros_like(start)
    tau = c["inductance"] / (c["resistance"] + outside)
    drop = np.where(falls, start - release, 0.0)
    target = np.where(falls, release + offset, 1.0)
    return in_shape(tau * np.log1p(drop / target), shape)


def _require_reachable(kind: str, release: np.ndarray, offset: np.ndarray) -> None:
    """Refuse a release current that the falling current never comes down to."""
    if not np.all((release >= 0) & (release + offset > 0)):
        raise ValueError(
            say(
                "release_current must be above zero with suppression {kind!r}: the current"
                " falls towards zero and never gets to {release!r} A, so the plunger would"
                " never let go.",
                kind=kind,
                release=release,
            )
        )
