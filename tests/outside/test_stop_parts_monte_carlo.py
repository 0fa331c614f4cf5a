"""Many stops drawn from the reference's tolerances, against its own million draws.

Source: shared/ref/chain/chain_cases_open.json, kind monte_carlo (fixed-step integration, another
random stream). Both sides are samples, so they may differ by 4 standard errors of both together;
a quantile is compared by rank, which needs no assumption on the shape of the distribution. Means
and sds of the stages may differ by the reference's step error besides: where the winding has no
suppression its decay lasts about one of the reference's steps, and its draws read up to 0.9 us
more than the closed form (a straight line for the force over a 20 us step makes just that error).
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.outside.stop_parts_race import at_cut, before_wait, drawn, nominal, reference

DRAWS = 20_000
ERRORS = 4.0
STEP_ERROR = 1e-6  # s, the tolerance that the reference states for its times
MACHINES = ("slow_trailed", "trailed", "fast_sp")
VARIANTS = (
    "nominal_setting",
    "clearance_2.5mm",
    "clearance_3.0mm",
    "clearance_4.0mm",
    "clearance_7.0mm",
    "suppression_none",
    "suppression_fitted_elsewhere",
    "plunger_spring_70pct",
    "motional_off",
)
PROBABILITIES = {"q001": 0.001, "q05": 0.05, "q50": 0.5, "q95": 0.95, "q999": 0.999}


def variant_names() -> list[tuple[str, str]]:
    """Every machine with every variant; the swapped suppression has the other machine's name."""
    swapped = {"slow_trailed": "suppression_diode"}
    return [
        (m, v if "elsewhere" not in v else swapped.get(m, "suppression_resistor"))
        for m in MACHINES
        for v in VARIANTS
    ]


def the_case(machine: str, variant: str) -> dict[str, Any]:
    found = [
        c
        for c in reference()["open"]
        if c["kind"] == "monte_carlo" and (c["machine"], c["variant"]) == (machine, variant)
    ]
    assert len(found) == 1
    return found[0]


def draw_the_variant(
    machine: str, variant: str, seed: int
) -> tuple[dict[str, Any], dict[str, Any]]:
    p = drawn(machine, DRAWS, seed)
    how = {
        "suppression": reference()["machines"][machine]["fitted_suppression"],
        "motional": variant != "motional_off",
    }
    if variant.startswith("clearance_"):
        middle = float(variant.removeprefix("clearance_").removesuffix("mm")) * 1e-3
        p["clearance"] = p["clearance"] + middle - nominal(machine)["clearance"]
    elif variant.startswith("suppression_"):
        how["suppression"] = variant.removeprefix("suppression_")
    elif variant == "plunger_spring_70pct":
        p["F0"] = 0.7 * p["F0"]
    else:
        assert variant in ("nominal_setting", "motional_off")
    return p, before_wait(machine, p, **how)


def compare(
    values: np.ndarray, expected: dict[str, float], n_reference: int, slack: float = 0.0
) -> list[str]:
    """Names of what lies more than the allowed errors apart: mean, sd and each quantile."""
    n = values.size
    both = 1 / n + 1 / n_reference
    sd = values.std(ddof=1)
    centred = (values - values.mean()) / sd
    spread_of_mean = ERRORS * sd * np.sqrt(both)
    spread_of_sd = ERRORS * sd * np.sqrt(max((centred**4).mean() - 1, 0.0) * both) / 2
    wrong = []
    if "mean" in expected and abs(values.mean() - expected["mean"]) > slack + spread_of_mean:
        wrong.append(f"mean {values.mean()} {expected['mean']}")
    if "sd" in expected and abs(sd - expected["sd"]) > slack + spread_of_sd:
        wrong.append(f"sd {sd} {expected['sd']}")
    ordered = np.sort(values)
    for name, p in PROBABILITIES.items():
        if name in expected:
            rank = np.searchsorted(ordered, expected[name]) / n
            if abs(rank - p) > ERRORS * np.sqrt(p * (1 - p) * both) + 1 / n:
                wrong.append(f"{name} at rank {rank}")
    return wrong


@pytest.mark.parametrize(("machine", "variant"), variant_names())
def test_the_spread_of_the_stop_is_that_of_the_reference(machine: str, variant: str) -> None:
    expected = the_case(machine, variant)["expected"]
    seed = 7000 + variant_names().index((machine, variant))
    p, stages = draw_the_variant(machine, variant, seed)
    wrong = []
    for key, theirs in expected["stages"].items():
        wrong += [
            f"{key} {w}" for w in compare(stages[key[:-2]], theirs, expected["n"], STEP_ERROR)
        ]
    for at in expected["by_cut"]:
        result = at_cut(machine, p, stages, at["cut_m"], p["phase"])
        for key in ("stop_time_s", "travel_m", "margin_m"):
            wrong += [f"{at['cut_m']} {key} {w}" for w in compare(result[key], at[key], at["n"])]
        mean = {"mean": at["windup_s_mean"]}
        wrong += [f"{at['cut_m']} windup {w}" for w in compare(result["windup_s"], mean, at["n"])]
        through, theirs = np.mean(result["margin_m"] < 0), at["p_reach"]
        pooled = (through * DRAWS + theirs * at["n"] + 1) / (DRAWS + at["n"] + 2)
        allowed = ERRORS * np.sqrt(pooled * (1 - pooled) * (1 / DRAWS + 1 / at["n"]))
        if abs(through - theirs) > allowed:
            wrong.append(f"{at['cut_m']} through {through} {theirs}")
    assert not wrong


def test_no_variant_of_the_reference_is_left_out() -> None:
    theirs = {
        (c["machine"], c["variant"]) for c in reference()["open"] if c["kind"] == "monte_carlo"
    }
    assert theirs == set(variant_names())
