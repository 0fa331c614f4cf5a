"""The FMEA table: complete columns, scales from the model, every row traceable."""

from __future__ import annotations

import json
from collections import Counter
from functools import lru_cache

import pytest

from tests.faultfinding.charting import coverage_of, problem_of
from tripmargin.faultfinding.charts.fmea import Fmea, fmea
from tripmargin.faultfinding.charts.fmea_scales import RATES, occurrence

COLUMNS = (
    "item", "function", "failure_mode", "failure_cause", "local_effect", "final_effect",
    "detection_method", "compensating_provision", "remarks",
)  # fmt: skip


@lru_cache(maxsize=1)
def table() -> Fmea:
    return fmea(problem_of(), covered=coverage_of())


def row(fault):
    return next(each for each in table().rows if each.fault == fault)


def test_every_single_fault_has_one_row_and_every_column_is_filled():
    assert Counter(each.fault for each in table().rows) == Counter(
        fault.id for fault in coverage_of().faults
    )
    for each in table().rows:
        empty = [name for name in COLUMNS if not getattr(each, name).strip()]
        assert empty == [], each.fault
        assert each.failure_cause != "not known", each.failure_mode


def test_severity_occurrence_and_detection_run_from_1_to_10_on_the_printed_scales():
    made = table()
    for each in made.rows:
        assert each.severity in made.severity_scale
        assert each.detection in made.detection_scale
        assert each.occurrence in made.occurrence_scale
    assert set(made.occurrence_scale) == set(range(1, 11))
    assert {1, 10} <= set(made.severity_scale) <= set(range(1, 11))


def test_the_table_warns_that_the_risk_priority_number_does_not_rank():
    assert "120 values" in table().warning
    assert "does not rank" in table().warning
    for each in table().rows:
        assert each.rpn == each.severity * each.occurrence * each.detection


def test_rows_stand_by_severity_and_not_by_the_risk_priority_number():
    rows = table().rows
    assert [each.severity for each in rows] == sorted(
        (each.severity for each in rows), reverse=True
    )
    assert [each.rpn for each in rows] != sorted((each.rpn for each in rows), reverse=True)


@pytest.mark.parametrize(
    ("fault", "severity"),
    [
        ("pawl_spring_broken", 10),
        ("S:magnets weak", 10),
        ("detect_dead", 10),
        ("K1:welded", 9),
        ("clearance_wide", 8),
        ("F1:open", 6),
        ("roll:magnetised", 5),
        ("T:open", 4),
        ("trip latched:open", 3),
        ("V1:open", 1),
    ],
)
def test_severity_comes_from_the_computed_final_effect(fault, severity):
    assert row(fault).severity == severity


def test_the_step_of_a_row_is_the_first_in_which_the_circuit_differs():
    worked = problem_of().shown.worked
    for each in table().rows:
        if each.fault not in worked.faults:
            continue
        differs = worked.differs(each.fault)
        assert each.step == (differs[0][0] if differs else "")


def test_detection_is_10_only_for_what_nothing_shows():
    hidden = {each.fault for each in table().rows if each.detection == 10}
    assert hidden == {fault.id for fault in coverage_of().faults if not fault.kinds}
    assert set(coverage_of().nothing_shows) <= hidden
    assert row("clearance_wide").detection == 5
    assert row("pawl_spring_broken").detection == 3
    assert row("F1:open").detection == 1


def test_occurrence_rises_with_the_rate():
    found = [occurrence(rate) for rate in (0.0, *RATES)]
    assert found == list(range(1, 11))
    for each in table().rows:
        assert each.occurrence == occurrence(each.rate)


def test_remarks_trace_a_row_to_its_fault_rate_and_source():
    for each in table().rows:
        assert each.fault in each.remarks
        assert f"{each.rate:g} per 1000 h" in each.remarks
        assert each.rate_source in each.remarks


def test_the_table_is_plain_json_with_the_risk_priority_number():
    made = json.loads(json.dumps(table().to_dict()))
    assert made["rows"][0]["rpn"] == table().rows[0].rpn
