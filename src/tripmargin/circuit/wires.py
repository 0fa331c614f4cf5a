"""How much a wire resists: from its length and section."""

from __future__ import annotations

from tripmargin.circuit.errors import CircuitError, problem
from tripmargin.ground.languages import say

CLASS_5_PLAIN = {
    0.5e-6: 39.0e-3,
    0.75e-6: 26.0e-3,
    1.0e-6: 19.5e-3,
    1.5e-6: 13.3e-3,
    2.5e-6: 7.98e-3,
    4.0e-6: 4.95e-3,
    6.0e-6: 3.30e-3,
    10.0e-6: 1.91e-3,
}
"""Section, m2, to greatest resistance at 20 degC, ohm/m: flexible plain copper, class 5 of the
conductor table of IEC 60228."""

CLASS_5_TINNED = {
    0.5e-6: 40.1e-3,
    0.75e-6: 26.7e-3,
    1.0e-6: 20.0e-3,
    1.5e-6: 13.7e-3,
    2.5e-6: 8.21e-3,
    4.0e-6: 5.09e-3,
    6.0e-6: 3.39e-3,
}
"""The same for tinned copper, IEC 60228 class 5."""

_TEMPERATURE_CONSTANT = 230.0
"""degC. IEC 60228 corrects to 20 degC by 250 / (230 + t)."""


def wire_resistance(
    length: float, section: float, *, tinned: bool = False, temperature: float = 20.0
) -> float:
    """Greatest resistance of a flexible copper wire.

    Parameters
    ----------
    length : float, m
    section : float, m2
        A size of the table: 0.5, 0.75, 1, 1.5, 2.5, 4 or 6 mm2, plain also 10 mm2.
    tinned : bool
        Tinned strands resist a little more.
    temperature : float, degC

    Returns
    -------
    float, ohm

    Raises
    ------
    CircuitError
        If the section is not in the table or the length is not positive.

    Notes
    -----
    IEC 60228, class 5, greatest resistance at 20 degC; for another temperature its own rounded
    form, divided by 250 / (230 + t).

    Examples
    --------
    >>> round(wire_resistance(6.0, 2.5e-6), 5)
    0.04788
    """
    table = CLASS_5_TINNED if tinned else CLASS_5_PLAIN
    size = next((s for s in table if abs(s - section) <= 1e-3 * s), None)
    if size is None or not length > 0:
        sizes = ", ".join(f"{s * 1e6:g}" for s in table)
        raise CircuitError(
            [
                problem(
                    "wire",
                    say("{length:g} m of {section:g} mm2", length=length, section=section * 1e6),
                    say("no such wire in the table"),
                    say("a positive length and a section of {sizes} mm2", sizes=sizes),
                    say("Give its resistance instead if the size is another."),
                )
            ]
        )
    return length * table[size] * (_TEMPERATURE_CONSTANT + temperature) / 250.0
