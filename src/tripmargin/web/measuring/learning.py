"""What a machine's log tells of it, worked out once for the same version and the same entries."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import language, say, say_many
from tripmargin.ground.languages.lists import listed
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.recordings import Calibration, RecordingError, calibrate
from tripmargin.recordings.calibrating import NextPass, first_pass
from tripmargin.recordings.calibrating.before import Before, before
from tripmargin.recordings.calibrating.stops import StopDoubt
from tripmargin.records.keeping.machines import machine_of
from tripmargin.records.keeping.owned_pieces import owned_names, owned_pieces
from tripmargin.records.standing.findings import Finding, Findings, findings_of
from tripmargin.records.store.models import Machine, MachineVersion
from tripmargin.sensing.pieces import Piece
from tripmargin.web.machines.finding import version_at
from tripmargin.web.machines.shown import Shown

_KEPT = Shown(most=60)
_PASS, _STOP, _TRIP = "test pass", "stop time", "trip"
_TRIES = ((_PASS, _STOP, _TRIP), (_PASS, _STOP), (_PASS,), (_STOP,))
"""What is learned from together; where that cannot be, from less, and what was left out is said."""


@dataclass(frozen=True, slots=True)
class Learned:
    """What was learned, and what could not be.

    Attributes
    ----------
    used
        The findings that it stands on.
    calibration
        None where there are no findings, or none that could be learned from.
    next_piece
        None where enough is known, or the file does not say enough of the sensor.
    before
        What the file says alone.
    troubles
        What could not be learned and why, in sentences.
    """

    used: tuple[Finding, ...]
    calibration: Calibration | None
    next_piece: NextPass | None
    before: Before
    troubles: tuple[str, ...]

    @property
    def enough(self) -> bool:
        """Whether more passes would change little."""
        made = self.calibration
        return made is not None and made.signal is not None and made.enough

    @property
    def may_be_kept(self) -> bool:
        """Whether there is something for the file."""
        return self.calibration is not None and bool(self.calibration.fields)


@dataclass(frozen=True, slots=True)
class Asked:
    """A machine, its newest version, the findings in its log, and the yard's test pieces."""

    machine: Machine
    version: MachineVersion
    findings: Findings
    owned: tuple[str, ...] = ()

    @classmethod
    def of(cls, machine: Machine) -> Asked:
        """As they are now."""
        return cls(machine, version_at(machine), findings_of(machine), owned_names())

    @property
    def loaded(self) -> LoadedMachine:
        """The machine of the version."""
        return machine_of(self.version)

    @property
    def key(self) -> str:
        """Changes with the version and with the findings; short, for a form."""
        import hashlib

        text = " ".join([self.version.digest, *map(str, self.findings.key)])
        return hashlib.sha256(text.encode()).hexdigest()[:16]

    def kept(self) -> Learned | None:
        """What was learned of just this before."""
        found = _KEPT.get((self.key, self.owned, language()))
        return None if found is None else found["learned"]

    def learned(self) -> Learned:
        """What was learned: worked out in 0.3 s to 6 s where it was not before."""
        found = self.kept()
        if found is None:
            found = _learned(self.loaded, self.findings, owned_pieces() if self.owned else ())
            _KEPT.keep((self.key, self.owned, language()), {"learned": found})
        return found


def _learned(loaded: LoadedMachine, findings: Findings, pieces: tuple[Piece, ...]) -> Learned:
    troubles: list[str] = []
    used = _learnable(loaded, findings.used, troubles)
    calibration = None
    chosen: tuple[Finding, ...] = ()
    for chosen in _tries(used):
        try:
            calibration = calibrate(
                loaded, [one.observation for one in chosen], pieces=pieces or None
            )
            break
        except (NotKnownError, RecordingError) as error:
            troubles.append(
                say(
                    "{findings} cannot be learned from together: {why}",
                    findings=listed(counted(chosen)),
                    why=error,
                )
            )
    else:
        chosen = ()
    following = calibration.next_piece if calibration is not None else None
    if following is None and (calibration is None or calibration.signal is None):
        try:
            following = first_pass(loaded, pieces=pieces or None)
        except NotKnownError as error:
            troubles.append(say("No piece can be chosen to pass: {why}", why=error))
    cut = next(
        (one.cut_length for o in chosen if hasattr(one := o.observation, "cut_length")), None
    )
    return Learned(
        chosen, calibration, following, before(loaded, cut), tuple(dict.fromkeys(troubles))
    )


def _learnable(
    loaded: LoadedMachine, used: tuple[Finding, ...], troubles: list[str]
) -> tuple[Finding, ...]:
    """The findings without those of a stop of which the file leaves nothing open."""
    if all(one.kind == _PASS for one in used):
        return used
    try:
        if StopDoubt.of(loaded).dimensions:
            return used
        troubles.append(
            say("The file gives the stop no tolerance: there is nothing to learn of it.")
        )
    except NotKnownError as error:
        troubles.append(say("Nothing can be learned of the stop: {why}", why=error))
    return tuple(one for one in used if one.kind == _PASS)


def _tries(used: tuple[Finding, ...]) -> Iterator[tuple[Finding, ...]]:
    tried: list[tuple[Finding, ...]] = [()]
    for kinds in _TRIES:
        chosen = tuple(one for one in used if one.kind in kinds)
        if chosen not in tried:
            tried.append(chosen)
            yield chosen


def counted(used: tuple[Finding, ...]) -> list[str]:
    """How many findings of each kind: "12 test passes", "1 timed stop"."""
    passes, stops, trips = (
        sum(each.kind == kind for each in used) for kind in (_PASS, _STOP, _TRIP)
    )
    made = []
    if passes:
        made.append(say_many("{count} test pass", "{count} test passes", passes))
    if stops:
        made.append(say_many("{count} timed stop", "{count} timed stops", stops))
    if trips:
        made.append(
            say_many(
                "{count} trip with its metal found", "{count} trips with their metal found", trips
            )
        )
    return made
