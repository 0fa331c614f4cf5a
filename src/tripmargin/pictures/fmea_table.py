"""The FMEA table for paper and for a spreadsheet."""

from __future__ import annotations

from tripmargin.faultfinding.charts.fmea import Fmea
from tripmargin.pictures.page import Cell, Section, Table


def fmea_table(fmea: Fmea) -> Table:
    """One row for each failure mode, IEC 60812's columns (from memory); rates per 1000 h."""
    headers = (
        "item", "function", "failure mode", "failure cause", "local effect", "final effect",
        "detection method", "compensating provision", "S", "O", "D", "RPN", "remarks",
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
        "Columns of IEC 60812, from memory. The scales are ours: engineering judgement, no source;"
        " only their order means anything.",
        fmea.warning,
    )
    rows = (
        f"{len(fmea.rows)} rows, the worst severity first. Remarks name the fault in the model, its"
        " rate and the step in which it shows first.",
    )
    return (
        Section("Failure modes and effects: severity, S", about, _scale(fmea.severity_scale)),
        Section("Occurrence, O", (), _scale(fmea.occurrence_scale)),
        Section("Detection, D", (), _scale(fmea.detection_scale)),
        Section("Failure modes and effects", rows, fmea_table(fmea), wide=True),
    )


def _scale(scale: dict[int, str]) -> Table:
    return ("number", "stands for"), sorted(scale.items(), reverse=True)


def scale_lines(fmea: Fmea) -> list[str]:
    """The scales in sentences, for where there is no room for a table."""
    named = {
        "S, severity": fmea.severity_scale,
        "O, occurrence": fmea.occurrence_scale,
        "D, detection": fmea.detection_scale,
    }
    return [
        f"{name}: {'; '.join(f'{k} {words}' for k, words in sorted(scale.items(), reverse=True))}."
        for name, scale in named.items()
    ]
