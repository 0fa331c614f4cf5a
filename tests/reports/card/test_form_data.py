"""What a card's boxes take is SI once it is multiplied, in metric and US units.

Source: the international inch, 25.4 mm exactly (international yard and pound agreement, 1959).
"""

from __future__ import annotations

from typing import Any

import pytest

from tripmargin.records.kinds import KINDS
from tripmargin.reports.card.form_data import ASKED, form_data


def box(us: bool, kind: str, key: str) -> dict[str, Any]:
    form = form_data(("lower", "upper"), ("armed",), us=us)[kind]
    return next(one for one in form["fields"] if one["key"] == key)


@pytest.mark.parametrize(("us", "unit", "size"), [(False, "mm", 1e-3), (True, "in", 0.0254)])
def test_a_gap_in_its_unit_is_metres(us: bool, unit: str, size: float) -> None:
    made = box(us, "adjustment", "gap_after_m/lower")
    assert (made["unit"], made["factor"]) == (unit, size)
    assert made["most"] * size == pytest.approx(0.03, rel=1e-5)  # what the log takes at most


@pytest.mark.parametrize("us", [False, True])
def test_every_box_takes_what_the_log_takes(us: bool) -> None:
    made = form_data(("lower",), ("armed",), us=us)
    assert tuple(made) == ASKED
    for name, form in made.items():
        keys = dict(KINDS[name].keys(("lower",), ("armed",)))
        assert [one["key"] for one in form["fields"]] == list(keys)
        for one in form["fields"]:
            if one["what"] == "quantity":
                low, high = (one[end] * one["factor"] for end in ("least", "most"))
                field = keys[one["key"]]
                assert (low, high) == pytest.approx((field.low, field.high), rel=1e-5, abs=1e-12)
