"""The FMEA table for paper and for a spreadsheet."""

from __future__ import annotations

from tripmargin.faultfinding.charts.fmea import Fmea
from tripmargin.ground.languages import later, say
from tripmargin.pictures.page import Cell, Section, Table
from tripmargin.pictures.words import said


def fmea_table(fmea: Fmea) -> Table:
    """One row for each failure mode, IEC 60812's columns (from memory); rates per 1000 h."""
    headers = (
        later("item"), later("function"), later("failure mode"), later("failure cause"),
        later("local effect"), later("final effect"), later("detection method"),
        later("compensating provision"), "S", "O", "D", later("RPN"), later("remarks"),
    )  # fmt: skip
    rows: list[list[Cell]] = [
        [
            row.item, row.function, row.failure_mode, row.failure_cause, row.local_effect,
            row.final_effect, row.detection_method, row.compensating_provision, row.severity,
            row.occurrence, row.detection, row.rpn, row.remarks,
        ]
        for row in fmea.rows
    ]  # fmt: skip
    return headers, rows


def fmea_sections(fmea: Fmea) -> tuple[Section, ...]:
    """The scales with what each number stands for, and the table."""
    about = (
        say(
            "Columns of IEC 60812, from memory. The scales are ours: engineering judgement, no"
            " source; only their order means anything."
        ),
        said(fmea.warning),
    )
    rows = (
        say(
            "{count} rows, the worst severity first. Remarks name the fault in the model, its rate"
            " and the step in which it shows first.",
            count=len(fmea.rows),
        ),
    )
    return (
        Section(say("Failure modes and effects: severity, S"), about, _scale(fmea.severity_scale)),
        Section(say("Occurrence, O"), (), _scale(fmea.occurrence_scale)),
        Section(say("Detection, D"), (), _scale(fmea.detection_scale)),
        Section(say("Failure modes and effects"), rows, fmea_table(fmea), wide=True),
    )


def _scale(scale: dict[int, str]) -> Table:
    rows = [(number, said(words)) for number, words in sorted(scale.items(), reverse=True)]
    return (later("number"), later("stands for")), rows


def scale_lines(fmea: Fmea) -> list[str]:
    """The scales in sentences, for where there is no room for a table."""
    named = {
        say("S, severity"): fmea.severity_scale,
        say("O, occurrence"): fmea.occurrence_scale,
        say("D, detection"): fmea.detection_scale,
    }
    return [
        f"{name}: {'; '.join(f'{number} {words}' for number, words in _scale(scale)[1])}."
        for name, scale in named.items()
    ]
