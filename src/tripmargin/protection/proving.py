"""Is this machine protected? The question, and what to say where it cannot be answered."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.every_language import in_every_language
from tripmargin.ground.languages import language, later, say
from tripmargin.machine import Machine
from tripmargin.machine.ageing import aged
from tripmargin.protection.bench import Progress
from tripmargin.protection.prover import Prover
from tripmargin.protection.stops import Stops
from tripmargin.protection.verdicts import CutVerdict, Proof
from tripmargin.sensing.pieces import Piece
from tripmargin.sensing.sensor import sensor_of
from tripmargin.stopping import StopDensities
from tripmargin.stopping.feed import require_cut

MOST_CUTS = 1000


def prove(
    machine: Machine,
    *,
    cut_lengths: Sequence[float] | None = None,
    pieces: Sequence[Piece | str] | None = None,
    progress: Progress | None = None,
    on: date | None = None,
) -> Proof:
    """Prove a machine: is it protected, at which cuts, and what holds it back.

    Parameters
    ----------
    machine : Machine
    cut_lengths : sequence of float, m, optional
        By default the cuts on offer.
    pieces : sequence of Piece or text, optional
        What must be stopped; by default `limits.must_stop`. A rod or a plate without an attitude is
        taken a third each across, along and upright.
    progress : callable, optional
        Told the share done, 0 to 1.
    on : date, optional
        The day to prove it for; today without it. What the file says was measured is widened by
        its drift for each year until then.

    Returns
    -------
    Proof
        With the verdict "not known" and what is needed where the file lacks a section.

    Raises
    ------
    ValueError
        If a cut length or a piece cannot be.

    Examples
    --------
    >>> import tripmargin
    >>> proof = prove(tripmargin.load_machine("whimbrel"), cut_lengths=[0.008])
    >>> proof.cuts[0].verdict
    'protected'
    """
    on = on or date.today()
    machine, measured = aged(machine, on)
    return replace(_proved(machine, cut_lengths, pieces, progress), measured=measured, on=on)


def _proved(
    machine: Machine,
    cut_lengths: Sequence[float] | None,
    pieces: Sequence[Piece | str] | None,
    progress: Progress | None,
) -> Proof:
    wanted = [_piece(p) for p in (pieces or [machine.limits.must_stop])]
    cuts = _cuts(machine, cut_lengths)
    if not cuts:
        return _not_known(machine, (), missing(machine))
    try:
        return Prover(machine, cuts, wanted, progress).proof()
    except NotKnownError:
        return _not_known(machine, _race_only(machine, cuts, wanted), missing(machine))


def missing(machine: Machine) -> tuple[str, ...]:
    """Every field that a proof needs and the machine file does not give, in the file's order."""
    found: dict[str, None] = {}
    for ask in (
        lambda: _cuts_on_offer(machine),
        lambda: machine.need(later("protection"), *_FEED),
        lambda: sensor_of(machine),
        lambda: machine.need(later("protection"), *_DETECTOR),
        lambda: StopDensities.of(machine),
    ):
        try:
            ask()
        except NotKnownError as error:
            found.update(dict.fromkeys(error.needs))
    return tuple(found)


_FEED = tuple(
    f"feed.{name}"
    for name in (
        "knives",
        "cutterhead_speed",
        "roll_diameter",
        "roll_width",
        "sensor_to_shear_bar",
    )
)
_DETECTOR = ("detector.gain", "detector.threshold")


def _cuts_on_offer(machine: Machine) -> None:
    if machine.feed is None or not machine.feed.cut_lengths:
        raise NotKnownError(later("protection"), ["feed.cut_lengths"])


def _piece(piece: Piece | str) -> Piece:
    return Piece.from_text(piece) if isinstance(piece, str) else piece


def _cuts(machine: Machine, cut_lengths: Sequence[float] | None) -> tuple[float, ...]:
    if cut_lengths is None:
        return machine.feed.cut_lengths if machine.feed is not None else ()
    if len(cut_lengths) > MOST_CUTS:
        raise ValueError(
            say(
                "{count} cut lengths. Allowed: {most} at most.",
                count=len(cut_lengths),
                most=MOST_CUTS,
            )
        )
    for cut in cut_lengths:
        require_cut(float(cut))
    return tuple(sorted({float(cut) for cut in cut_lengths}))


def _race_only(
    machine: Machine, cuts: tuple[float, ...], pieces: list[Piece]
) -> tuple[CutVerdict, ...]:
    """What can be said of the stop alone where the sensor's side is not known."""
    try:
        stops = Stops(machine)
        return tuple(stop_alone(stops, cut, piece) for piece in pieces for cut in cuts)
    except NotKnownError:
        return ()


def stop_alone(stops: Stops, cut_length: float, piece: Piece, *, fine: bool = True) -> CutVerdict:
    """The verdict "not known" at one cut, with what can be said of the stop alone.

    Raises
    ------
    NotKnownError
        If the machine file lacks what the race needs.
    """
    machine = stops.machine
    chain = stops.chain(cut_length)
    return CutVerdict(
        cut_length=cut_length,
        piece=piece.name,
        verdict="not known",
        stopped_if_seen=1.0 - float(stops.travel(cut_length, fine=fine).late(0.0, fine=fine)),
        stop_time=chain.stop_time,
        travel=chain.travel,
        stop_time_ok=chain.stop_time.nominal <= machine.limits.stop_time.nominal,
    )


def _not_known(machine: Machine, cuts: tuple[CutVerdict, ...], needs: tuple[str, ...]) -> Proof:
    told = in_every_language(lambda _us: _why_not_known(needs, bool(cuts)))
    return Proof(
        machine_name=machine.name,
        verdict="not known",
        cuts=cuts,
        because=told[language()][0],
        told=told,
        needs=needs,
        assumed=machine.assumed,
        changed=machine.changed,
    )


def _why_not_known(needs: tuple[str, ...], stop_known: bool) -> tuple[str, ...]:
    missing_words = say("Not known without {needs}.", needs=", ".join(needs))
    if not stop_known:
        return (missing_words,)
    return (
        missing_words,
        say(
            "The stop alone is known: P(stopped in time) is for metal that is caught above the"
            " sensor's axis."
        ),
    )
