"""The test piece's signal under a fault of magnets, gap or gain."""

from __future__ import annotations

from functools import lru_cache

from tripmargin.faultfinding.suspects.physical import PhysicalFault
from tripmargin.ground.errors import NotKnownError, QuantityError
from tripmargin.ground.languages import later
from tripmargin.machine import Machine
from tripmargin.machine.check_sections import Look

_ANSWER = later("the test piece's signal")


def signal_over_threshold(machine: Machine, look: Look, fault: PhysicalFault | None) -> float:
    """Peak of the test piece's signal over the detector's threshold, at the shortest cut's speed.

    The shortest cut is the slowest feed and the weakest signal. Raises NotKnownError where the
    machine file lacks what the signal needs.
    """
    settings = () if fault is None else tuple(sorted(fault.settings.items()))
    sound = _peak(machine, look, settings)
    return sound * (1.0 if fault is None else fault.signal)


@lru_cache(maxsize=64)
def _peak(machine: Machine, look: Look, settings: tuple[tuple[str, str], ...]) -> float:
    from tripmargin.sensing import Piece, simulate_pass
    from tripmargin.stopping import feed_speed

    if settings:
        machine = machine.with_settings(dict(settings))
    assert look.piece is not None
    if machine.feed is None:
        raise NotKnownError(_ANSWER, ["feed.cut_lengths"])
    (threshold,) = machine.need(_ANSWER, "detector.threshold")
    try:
        piece = Piece.from_text(look.piece)
    except QuantityError as error:
        where = f"checks.looks.{look.name}.piece: {error.problem}"
        raise QuantityError(look.piece, where, error.allowed, error.hint) from None
    found = simulate_pass(
        machine,
        piece,
        x=0.0 if look.x is None else look.x.nominal,
        height=0.03 if look.height is None else look.height.nominal,
        speed=feed_speed(machine, machine.feed.cut_lengths[0]),
    )
    return found.peak / threshold.nominal
