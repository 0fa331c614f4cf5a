"""A table of failure modes and effects, computed from the circuit and the checks.

Its columns are those of IEC 60812, from memory. Effects, detection and occurrence come from the
model; a part's function and the usual cause of a failure are common practice, no source.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from tripmargin.faultfinding.charts.coverage import SIGNS, coverage
from tripmargin.faultfinding.charts.covered import Coverage, CoveredFault
from tripmargin.faultfinding.charts.effects import LATE, STOPPED, Effect, effects_of, single_faults
from tripmargin.faultfinding.charts.fmea_scales import (
    BY_DAILY,
    BY_ITSELF,
    BY_LOOK,
    BY_NOTHING,
    BY_PATH,
    CHECK_DEAD,
    COMES_LATE,
    DETECTION,
    NO_EFFECT,
    NO_REVERSE,
    RPN_WARNING,
    SEVERITY,
    SIGN_LIES,
    STANDS,
    STOPS_ON_NOTHING,
    THROUGH,
    THROUGH_UNNOTICED,
    occurrence,
    occurrence_words,
)
from tripmargin.faultfinding.charts.fmea_words import FUNCTION, cause_of
from tripmargin.faultfinding.suspects.machine_problem import MachineProblem, machine_problem
from tripmargin.machine import Machine


@dataclass(frozen=True, slots=True)
class FmeaRow:
    """One failure mode.

    Attributes
    ----------
    item, function, failure_mode, failure_cause : str
    local_effect, final_effect : str
        Computed: what differs first, and what becomes of the machine.
    detection_method : str
    compensating_provision : str
        What keeps the effect small, or "none".
    severity, occurrence, detection : int
        1 to 10, by the scales of the table.
    remarks : str
    fault : str
        Its id in the circuit and in every other table.
    rate : float
        Per 1000 operating hours.
    rate_source : str
    step : str
        The step of working the machine in which the effect first shows; empty where none does.
    """

    item: str
    function: str
    failure_mode: str
    failure_cause: str
    local_effect: str
    final_effect: str
    detection_method: str
    compensating_provision: str
    severity: int
    occurrence: int
    detection: int
    remarks: str
    fault: str
    rate: float
    rate_source: str
    step: str

    @property
    def rpn(self) -> int:
        """S x O x D. It does not rank: see `Fmea.warning`."""
        return self.severity * self.occurrence * self.detection


@dataclass(frozen=True, slots=True)
class Fmea:
    """The table of a machine, the worst severity first, then the most frequent.

    `severity_scale`, `occurrence_scale` and `detection_scale` say what each number stands for.
    """

    machine_name: str
    rows: tuple[FmeaRow, ...]
    severity_scale: dict[int, str]
    occurrence_scale: dict[int, str]
    detection_scale: dict[int, str]
    warning: str

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready: rates per 1000 h."""
        made = asdict(self)
        for row, mine in zip(made["rows"], self.rows, strict=True):
            row["rpn"] = mine.rpn
        return made


def fmea(machine: Machine | MachineProblem, *, covered: Coverage | None = None) -> Fmea:
    """The failure modes and effects of a machine, one row for each single fault.

    Parameters
    ----------
    machine : Machine or MachineProblem
    covered : Coverage, optional
        Of the same machine, where it is at hand.

    Raises
    ------
    NotKnownError
        If the machine file has no `[circuit]` or no `[checks]`.
    """
    of = machine if isinstance(machine, MachineProblem) else machine_problem(machine)
    found = coverage(of) if covered is None else covered
    rows = [
        _row(of, found, found.fault(fault.id), effect)
        for fault, effect in zip(single_faults(of), effects_of(of), strict=True)
    ]
    rows.sort(key=lambda row: (-row.severity, -row.rate, row.fault))
    return Fmea(of.machine.name, tuple(rows), SEVERITY, occurrence_words(), DETECTION, RPN_WARNING)


def _row(of: MachineProblem, found: Coverage, fault: CoveredFault, effect: Effect) -> FmeaRow:
    severity, final = _severity(found, fault, effect)
    detection, method = _detection(found, fault)
    item, function = _item(of, fault)
    mode = fault.text.removeprefix(f"{item}: ").removeprefix(f"{item}, ")
    return FmeaRow(
        item=item,
        function=function,
        failure_mode=mode,
        failure_cause=cause_of(fault.text, fault.comes_and_goes),
        local_effect=effect.local,
        final_effect=final,
        detection_method=method,
        compensating_provision=_provision(severity, detection),
        severity=severity,
        occurrence=occurrence(fault.rate),
        detection=detection,
        remarks=_remarks(effect, fault, fault.id not in of.shown.worked.faults),
        fault=fault.id,
        rate=fault.rate,
        rate_source=fault.source,
        step=effect.step,
    )


def _severity(found: Coverage, fault: CoveredFault, effect: Effect) -> tuple[int, str]:
    """Severity and final effect: what becomes of metal, else the gravest complaint."""
    if effect.metal == LATE:
        return COMES_LATE, SEVERITY[COMES_LATE]
    if effect.metal != STOPPED:
        quiet = fault.id in found.silent or fault.id in found.silent_until_stop
        through = THROUGH_UNNOTICED if quiet else THROUGH
        return through, SEVERITY[through]
    for complaint, severity, words in _BY_COMPLAINT:
        if complaint in effect.complaints:
            return severity, words
    return NO_EFFECT, SEVERITY[NO_EFFECT]


_BY_COMPLAINT = (
    ("dead", STANDS, "nothing works: the machine stands"),
    ("feed stays stopped", STANDS, SEVERITY[STANDS]),
    ("stops on nothing", STOPS_ON_NOTHING, SEVERITY[STOPS_ON_NOTHING]),
    ("will not reverse", NO_REVERSE, "the rolls do not reverse"),
    ("check does not stop it", CHECK_DEAD, "the check button does not stop the feed"),
    ("lamp or buzzer wrong", SIGN_LIES, SEVERITY[SIGN_LIES]),
)
"""Severity and final effect by complaint, the gravest first."""


def _detection(found: Coverage, fault: CoveredFault) -> tuple[int, str]:
    """Detection, and the method in words: the first of the scale that applies."""
    look = f"{fault.quickest}, {fault.quickest_minutes:.1f} min from rest"
    by_sign = any(kind in SIGNS for kind in fault.kinds)
    if by_sign and fault.id not in found.silent_until_stop:
        return BY_ITSELF, f"lamps and buzzers; quickest look: {look}"
    if found.daily in fault.paths:
        return BY_DAILY, f"{found.daily}; quickest look: {look}"
    if fault.paths:
        return BY_PATH, f"{fault.paths[0]}; quickest look: {look}"
    return (BY_LOOK, look) if fault.quickest else (BY_NOTHING, "none")


def _item(of: MachineProblem, fault: CoveredFault) -> tuple[str, str]:
    """The part and what it is for."""
    parts = {} if of.machine.circuit is None else {p.name: p for p in of.machine.circuit.parts}
    part = parts.get(fault.mended)
    return fault.mended, FUNCTION[fault.mended if part is None else part.kind]


def _provision(severity: int, detection: int) -> str:
    """What keeps an effect small: letting go makes the stop, or a check in good time."""
    if severity in (STANDS, STOPS_ON_NOTHING):
        return "letting go makes the stop: the fault stops the feed"
    if severity <= SIGN_LIES:
        return "feed and stop do not depend on it"
    return {
        BY_ITSELF: "a lamp or buzzer tells before metal comes",
        BY_DAILY: "the daily check, between two of its days at most",
        BY_PATH: "a fuller check path, when it is due",
    }.get(detection, "none")


def _remarks(effect: Effect, fault: CoveredFault, physical: bool) -> str:
    comes = "comes and goes; " if fault.comes_and_goes else ""
    step = f"shows first in step {effect.step}" if effect.step else "shows in no step"
    if physical:
        step = "outside the wiring"
    return f"{comes}{step}; {fault.id}; {fault.rate:g} per 1000 h, {fault.source}"
