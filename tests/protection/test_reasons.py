"""The reasons in words, in both systems of units; and what settings cost where a part sticks."""

from __future__ import annotations

import re
from math import inf, isfinite, isnan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tripmargin import load_machine
from tripmargin.ground.results import Spread
from tripmargin.ground.units import percent
from tripmargin.machine import Machine
from tripmargin.protection import CutVerdict, setting_costs, stage_costs
from tripmargin.protection.costs import stage_words
from tripmargin.protection.reasons import reasons
from tripmargin.protection.verdicts import Proof
from tripmargin.sensing.piece_said import a_piece

STICKS = {"chain.plunger.parts.spring_force": "2 N"}
MAY_STICK = {"chain.plunger.parts.spring_force": "8 N +- 3 N"}


def told(machine: Machine, *, us: bool = False, **more: object) -> str:
    """The reasons for a made-up verdict of a 20 mm ball at 10 mm."""
    made: dict[str, object] = {
        "cut_length": 0.01,
        "piece": "20 mm ball",
        "verdict": "doubtful",
        "seen": 0.97,
        "stopped_if_seen": 0.9,
        "worst_place": (0.2, 0.07, 0.4),
        "crossing_y": Spread(-0.02, low=-0.03, high=-0.01),
        "travel": Spread(0.1, low=0.08, high=0.13),
        "stop_time": Spread(0.07, low=0.05, high=0.08),
        "stop_time_ok": False,
    }
    worst = CutVerdict(**{**made, **more})  # type: ignore[arg-type]
    return " ".join(reasons(machine, worst, (worst,), (), us=us))


def test_the_larger_share_of_failures_is_told_first() -> None:
    words = told(load_machine("curlew"))
    assert words.index("comes too late") < words.index("goes unseen")
    words = told(load_machine("curlew"), seen=0.6, stopped_if_seen=0.99)
    assert words.index("goes unseen") < words.index("comes too late")


def test_us_reasons_give_the_same_lengths_in_inches_and_speeds_in_feet_a_minute() -> None:
    machine = load_machine("curlew").with_settings({"chain.pawls.lower.clearance": "9 mm"})
    metric, us = told(machine), told(machine, us=True)
    assert " ft/min" in us
    assert " m/s" not in us
    assert re.findall(r"[\d.]+ mm(?! ball)", us) == []
    lengths = [float(n) for n in re.findall(r"([\d.]+) mm(?! ball)", metric)]
    inches = [float(n) for n in re.findall(r"([\d.]+) in(?= |;|,|\.|\)|:)", us)]
    assert len(lengths) == len(inches) >= 8
    # 1 in = 25.4 mm; both are written to three digits.
    assert [25.4 * n for n in inches] == pytest.approx(lengths, rel=0.01)


def test_a_stop_without_end_is_told_as_such_and_names_what_sticks() -> None:
    words = told(
        load_machine("curlew").with_settings(STICKS),
        travel=Spread(inf, low=inf, high=inf),
        stop_time=Spread(inf, low=0.1, high=inf),
        stopped_if_seen=0.0,
    )
    assert "the stop never comes about" in words
    assert "the plunger's fall" in words
    assert "The feed runs on." in words
    assert "inf" not in words


def test_a_stop_that_may_have_no_end_says_so_beside_its_travel() -> None:
    words = told(
        load_machine("curlew").with_settings(MAY_STICK), travel=Spread(0.1, low=0.08, high=inf)
    )
    assert "80 mm at least; within its limits the stop may never come about" in words
    assert "inf" not in words


def test_the_slowest_stop_over_its_limit_is_told_with_its_own_cut() -> None:
    machine = load_machine("curlew")
    slow, slower = (
        CutVerdict(
            cut, "20 mm ball", "doubtful", stop_time=Spread(t, low=t, high=t), stop_time_ok=False
        )
        for cut, t in ((0.01, 0.070), (0.02, 0.090))
    )
    words = " ".join(reasons(machine, slow, (slow, slower), ()))
    assert "The stop takes 90 ms at 20 mm" in words


@pytest.mark.parametrize(
    ("piece", "said"),
    [
        ("20 mm ball", "a 20"),
        ("8 mm rod", "an 8"),
        ("M12x40 bolt", "an M12"),
        ("80 mm ball", "an 80"),
    ],
)
def test_a_piece_is_spoken_with_its_article(piece: str, said: str) -> None:
    assert a_piece(piece).startswith(said)


def test_a_proof_without_us_reasons_gives_those_it_has() -> None:
    assert Proof("Knot", "not known", (), because=("why",)).because_in(us=True) == ("why",)
    both = Proof("Knot", "doubtful", (), because=("25.4 mm",), because_us=("1 in",))
    assert (both.because_in(False), both.because_in(True)) == (("25.4 mm",), ("1 in",))
    assert both.to_dict()["because"] == ["25.4 mm"]


def test_every_stage_has_words_of_its_own_without_underscores() -> None:
    stages = [cost.what for cost in stage_costs(load_machine("curlew"), 0.01)]
    words = [stage_words(stage) for stage in stages]
    assert len(set(words)) == len(stages) == 7
    assert not any("_" in word for word in words)


def test_costs_keep_their_names_in_json_and_give_us_words_beside() -> None:
    costs = setting_costs(load_machine("curlew"), 0.01)
    assert costs[0].words() == costs[0].to_dict()["what"] == "all pawls at 2.5 mm clearance"
    assert costs[0].words(us=True) == "all pawls at 0.0984 in clearance"
    assert "winding 108 degF warmer" in {cost.words(us=True) for cost in costs}


def test_a_change_that_makes_a_part_stick_takes_all_the_margin_there_is() -> None:
    # Spring 8 N against friction 3 N: at 70 % of its force the hold winding's decay still ends, but
    # the spring no longer carries the plunger through; without end in both states is not a number.
    costs = {
        cost.what: cost.margin
        for cost in setting_costs(load_machine("curlew").with_settings(MAY_STICK), 0.01)
    }
    assert costs["plunger spring at 70 % of its force"] == inf
    assert all(isfinite(v) for what, v in costs.items() if "spring" not in what)
    stuck = setting_costs(load_machine("curlew").with_settings(STICKS), 0.01)
    assert all(isnan(cost.margin) for cost in stuck)


@given(st.floats(0, 1), st.sampled_from([0.5, 0.9, 0.95, 0.99, 0.995, 0.999, 0.9999]))
def test_a_share_below_the_confidence_never_reads_as_reaching_it(
    share: float, confidence: float
) -> None:
    said = percent(share, confidence)
    number = float(re.findall(r"[\d.]+", said)[0]) / 100
    if said.startswith(("just under", "under")):
        assert share < number + 1e-12
    elif said.startswith("over"):
        assert share > number - 1e-12
        assert share >= confidence
    else:
        assert (number >= confidence - 1e-12) == (share >= confidence)
        assert number == pytest.approx(share, abs=6e-4)


@given(st.floats(0, 1, exclude_min=True, exclude_max=True))
def test_no_doubt_is_rounded_away_and_no_chance_either(share: float) -> None:
    assert percent(share) not in ("0 %", "100 %")
