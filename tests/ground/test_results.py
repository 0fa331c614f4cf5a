"""Results: numbers that remember their limits, and their JSON form."""

from __future__ import annotations

import json

import numpy as np
import pytest

from tripmargin.ground.results import Spread, plain


def test_a_spread_is_its_own_middle_and_remembers_its_limits() -> None:
    travel = Spread(0.1, low=0.08, high=0.13, sd=0.01)
    assert travel == travel.nominal == 0.1
    assert (travel.low, travel.high, travel.sd) == (0.08, 0.13, 0.01)
    assert travel / 2 == pytest.approx(0.05)
    assert travel.to_dict() == {"nominal": 0.1, "low": 0.08, "high": 0.13, "sd": 0.01}


class Result:
    def to_dict(self) -> dict[str, object]:
        return {"a": np.float64(1.5)}


def test_the_plain_form_is_json_whatever_is_in_it() -> None:
    mixed = {
        "array": np.array([[1.0, np.nan], [np.inf, -np.inf]]),
        "numbers": (np.int64(3), np.float32(0.5), np.bool_(True), False, None, "text"),
        "spread": Spread(1.0, low=0.0, high=np.inf),
        "nested": [Result()],
        4: 2,
    }
    made = plain(mixed)
    assert json.loads(json.dumps(made, allow_nan=False)) == {
        "array": [[1.0, None], [None, None]],
        "numbers": [3, 0.5, True, False, None, "text"],
        "spread": {"nominal": 1.0, "low": 0.0, "high": None, "sd": None},
        "nested": [{"a": 1.5}],
        "4": 2,
    }
