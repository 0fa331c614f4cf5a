"""A table of failure modes and effects, computed from the circuit and the checks.

Its columns are those of IEC 60812, from memory. Effects, detection and occurrence come from the
model; a part's function and the usual cause of a failure are common practice, no source.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from tripmargin.circuit.fault_modes import INVENTED
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
from tripmargin.faultfinding.charts.fmea_words import FUNCTION, MENDED, cause_of
from tripmargin.faultfinding.suspects.machine_problem import MachineProblem, machine_problem
from tripmargin.ground.languages import ENGLISH, later, say, speaking
from tripmargin.ground.languages.own_words import as_written
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
    with speaking(ENGLISH):  # the usual causes go by English words
        english = {each.id: each.text for each in single_faults(of)}
    rows = [
        _row(of, found, found.fault(fault.id), effect, english[fault.id])
        for fault, effect in zip(single_faults(of), effects_of(of), strict=True)
    ]
    rows.sort(key=lambda row: (-row.severity, -row.rate, row.fault))
    return Fmea(
        of.machine.name,
        tuple(rows),
        {number: say(words) for number, words in SEVERITY.items()},
        occurrence_words(),
        {number: say(words) for number, words in DETECTION.items()},
        say(RPN_WARNING),
    )


def _row(
    of: MachineProblem, found: Coverage, fault: CoveredFault, effect: Effect, english: str
) -> FmeaRow:
    severity, final = _severity(found, fault, effect)
    detection, method = _detection(of, found, fault)
    item, function = _item(of, fault)
    mode = fault.text.removeprefix(f"{item}: ").removeprefix(f"{item}, ")
    return FmeaRow(
        item=item,
        function=function,
        failure_mode=mode,
        failure_cause=cause_of(english, fault.comes_and_goes),
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
        return COMES_LATE, say(SEVERITY[COMES_LATE])
    if effect.metal != STOPPED:
        quiet = fault.id in found.silent or fault.id in found.silent_until_stop
        through = THROUGH_UNNOTICED if quiet else THROUGH
        return through, say(SEVERITY[through])
    for complaint, severity, words in _BY_COMPLAINT:
        if complaint in effect.complaints:
            return severity, say(words)
    return NO_EFFECT, say(SEVERITY[NO_EFFECT])


_BY_COMPLAINT = (
    ("dead", STANDS, later("nothing works: the machine stands")),
    ("feed stays stopped", STANDS, SEVERITY[STANDS]),
    ("stops on nothing", STOPS_ON_NOTHING, SEVERITY[STOPS_ON_NOTHING]),
    ("will not reverse", NO_REVERSE, later("the rolls do not reverse")),
    ("check does not stop it", CHECK_DEAD, later("the check button does not stop the feed")),
    ("lamp or buzzer wrong", SIGN_LIES, SEVERITY[SIGN_LIES]),
)
"""Severity and final effect by complaint, the gravest first; to be said."""


def _detection(of: MachineProblem, found: Coverage, fault: CoveredFault) -> tuple[int, str]:
    """Detection, and the method in words: the first of the scale that applies."""
    look = say(
        "{look}, {minutes:.1f} min from rest",
        look=_look_named(of, fault),
        minutes=fault.quickest_minutes,
    )
    by_sign = any(kind in SIGNS for kind in fault.kinds)
    if by_sign and fault.id not in found.silent_until_stop:
        return BY_ITSELF, say("lamps and buzzers; quickest look: {look}", look=look)
    if found.daily in fault.paths:
        return BY_DAILY, say(
            "{path}; quickest look: {look}", path=as_written(found.daily), look=look
        )
    if fault.paths:
        return BY_PATH, say(
            "{path}; quickest look: {look}", path=as_written(fault.paths[0]), look=look
        )
    return (BY_LOOK, look) if fault.quickest else (BY_NOTHING, say("none"))


def _look_named(of: MachineProblem, fault: CoveredFault) -> str:
    """The quickest look with its state; empty where none shows the fault."""
    question = of.questions.get(fault.quickest)
    if question is None:
        return fault.quickest
    return say("{state}: {look}", state=as_written(question.state), look=question.about)


def _item(of: MachineProblem, fault: CoveredFault) -> tuple[str, str]:
    """The part and what it is for."""
    parts = {} if of.machine.circuit is None else {p.name: p for p in of.machine.circuit.parts}
    part = parts.get(fault.mended)
    if part is None:
        return say(MENDED.get(fault.mended, fault.mended)), say(FUNCTION[fault.mended])
    return as_written(fault.mended), say(FUNCTION[part.kind])


def _provision(severity: int, detection: int) -> str:
    """What keeps an effect small: letting go makes the stop, or a check in good time."""
    if severity in (STANDS, STOPS_ON_NOTHING):
        return say("letting go makes the stop: the fault stops the feed")
    if severity <= SIGN_LIES:
        return say("feed and stop do not depend on it")
    if detection == BY_ITSELF:
        return say("a lamp or buzzer tells before metal comes")
    if detection == BY_DAILY:
        return say("the daily check, between two of its days at most")
    if detection == BY_PATH:
        return say("a fuller check path, when it is due")
    return say("none")


def _remarks(effect: Effect, fault: CoveredFault, physical: bool) -> str:
    if physical:
        step = say("outside the wiring")
    elif effect.step:
        step = say("shows first in step {step}", step=as_written(effect.step))
    else:
        step = say("shows in no step")
    source = say(INVENTED) if fault.source == INVENTED else as_written(fault.source)
    remarks = [
        *([say("comes and goes")] if fault.comes_and_goes else []),
        step,
        fault.id,
        say("{rate:g} per 1000 h, {source}", rate=fault.rate, source=source),
    ]
    return "; ".join(remarks)
