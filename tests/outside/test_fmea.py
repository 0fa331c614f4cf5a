"""The FMEA table against what IEC 60812 says of its number."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

from tests.faultfinding.charting import coverage_of, problem_of
from tripmargin.faultfinding.charts.fmea import fmea


def test_the_risk_priority_number_has_120_values_from_1_to_1000():
    # IEC 60812's discussion of the risk priority number, from memory: only 120 of 1 to 1000 occur.
    row = fmea(problem_of(), covered=coverage_of()).rows[0]
    marks = product(range(1, 11), repeat=3)
    values = {replace(row, severity=s, occurrence=o, detection=d).rpn for s, o, d in marks}
    assert (len(values), min(values), max(values)) == (120, 1, 1000)
