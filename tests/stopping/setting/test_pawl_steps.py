"""From two measured gaps to the steps: their order, what to expect, what is refused."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from tests.machine.files import SMALL, written
from tripmargin import load_machine
from tripmargin.faultfinding.cases.cautions import AT_REST
from tripmargin.ground.errors import NotKnownError
from tripmargin.machine import Machine
from tripmargin.stopping import SettingError, Steps, pawl_steps
from tripmargin.stopping.setting import Adjustment
from tripmargin.stopping.setting.step_words import CAUTIONS


@pytest.fixture(scope="module")
def curlew() -> Machine:
    return load_machine("curlew")


def plan(machine: Machine, lower: float, upper: float, **more: object) -> Steps:
    return pawl_steps(machine, lower_gap=lower * 1e-3, upper_gap=upper * 1e-3, **more)  # type: ignore[arg-type]


def test_the_lower_is_set_first_then_the_upper_then_the_lower_is_measured_again(
    curlew: Machine,
) -> None:
    steps = plan(curlew, 6.2, 6.4)
    assert [(s.do, s.pawl) for s in steps.steps] == [
        ("turn", "lower"), ("tighten", "lower"), ("measure", "lower"),
        ("place", "upper"), ("tighten", "upper"), ("measure", "upper"),
        ("measure", "lower"), ("prove", ""),
    ]  # fmt: skip
    assert "again: expect" in steps.steps[6].words()
    assert steps.steps[6].leave == steps.aims.pawls[0].room
    assert steps.steps[2].leave is None  # the upper pawl comes yet


def test_the_clevis_turns_by_half_turns_and_the_gap_follows_thread_and_leverage(
    curlew: Machine,
) -> None:
    turn, tighten = plan(curlew, 6.2, 4.1).steps[:2]
    assert turn.turns == -2.0
    assert turn.way == "in"  # turned out it opens
    # 2 turns of 1.25 mm at 1.1: 2.75 mm; then 0.1 mm back as the nut is tightened
    assert "closes from 6.2 mm to about 3.45 mm" in turn.words()
    assert "opens the gap by about 0.1 mm" in tighten.words()
    assert turn.turns % 0.5 == 0


def test_what_the_clevis_does_decides_which_way_it_is_turned() -> None:
    whimbrel = load_machine("whimbrel")  # turned out it closes
    turn = plan(whimbrel, 6.2, 4.1).steps[0]
    assert (turn.way, turn.turns) == ("out", -3.0)
    assert "turn the clevis out by 3 turns" in turn.words()


def test_where_the_file_does_not_say_the_words_do_not_guess(tmp_path: Path) -> None:
    knot = load_machine(written(tmp_path, SMALL))
    turn = plan(knot, 6.2, 4.1).steps[0]
    assert turn.way is None
    assert "the way that closes the gap" in turn.words()


def test_what_is_within_is_left_alone(curlew: Machine) -> None:
    steps = plan(curlew, 3.4, 4.1)
    assert steps.leave
    assert steps.steps == ()
    assert min(steps.inside_now.values()) > 0.995


def test_only_the_pawl_that_is_out_is_moved_and_the_other_measured_after(curlew: Machine) -> None:
    steps = plan(curlew, 3.5, 6.1)
    assert steps.moved == ("upper",)
    assert [(s.do, s.pawl) for s in steps.steps] == [
        ("place", "upper"), ("tighten", "upper"), ("measure", "upper"), ("measure", "lower"),
        ("prove", ""),
    ]  # fmt: skip


def test_what_one_move_does_to_the_other_is_reckoned_with_beforehand() -> None:
    # 3 mm is within, but closing the lower by 2.9 mm takes the upper along by a fifth: out of it.
    steps = plan(load_machine("whimbrel"), 6.0, 3.0)
    assert steps.moved == ("lower", "upper")
    assert steps.steps[3].do == "place"
    assert "opens from 2.4" in steps.steps[3].words()


def test_the_clamp_is_placed_by_a_blade_that_there_is(curlew: Machine) -> None:
    place = plan(curlew, 3.5, 6.1).steps[0]
    assert place.gap is not None
    # Tightening closes it by 0.1 mm, so the blade is as much wider than the aim; steps of 0.05 mm.
    assert place.gap / 0.05e-3 == pytest.approx(round(place.gap / 0.05e-3), abs=1e-6)
    assert place.gap == pytest.approx(plan(curlew, 3.5, 6.1).aims.pawls[1].gap + 0.1e-3, abs=3e-5)


def test_to_the_best_place_only_where_it_brings_something() -> None:
    whimbrel, curlew = load_machine("whimbrel"), load_machine("curlew")
    assert plan(whimbrel, 4.4, 4.6).leave
    assert plan(whimbrel, 4.4, 4.6, best=True).moved == ("lower", "upper")
    assert plan(curlew, 3.4, 4.1, best=True).leave  # the stop is in time anywhere


def test_pawls_of_any_name_and_number() -> None:
    sanderling = load_machine("sanderling")
    steps = pawl_steps(sanderling, gaps={"drive": 0.0055})
    turn = steps.steps[0]
    assert turn.pawl == "drive"
    assert turn.turns == pytest.approx(round(turn.turns * 6) / 6)  # flats of 60 deg
    assert "(10 steps of 60 deg)" in turn.words()
    assert "pin" not in turn.words()
    assert [s.do for s in steps.steps] == ["turn", "tighten", "measure", "prove"]


def test_a_gap_may_be_given_by_name_too(curlew: Machine) -> None:
    both = pawl_steps(curlew, gaps={"upper": 0.0041}, lower_gap=0.0062)
    assert both.readings == {"lower": 0.0062, "upper": 0.0041}


def test_new_measures_give_a_new_plan(curlew: Machine) -> None:
    # It came otherwise than expected: less leverage than the file says.
    first = plan(curlew, 6.2, 4.1)
    assert first.steps[2].expect is not None
    assert not first.steps[2].expect[0] < 0.0049 < first.steps[2].expect[1]
    again = plan(
        curlew, 4.9, 4.0,
        history=[({"lower": 0.0062, "upper": 0.0041}, {"lower": 0.0049, "upper": 0.004},
                  {"lower": -2.0, "upper": 0.0})],
    )  # fmt: skip
    leverage = next(one for one in again.learned if one.what == "leverage")
    assert leverage.now.mean < leverage.before.mean
    assert again.steps[0].turns is not None
    assert again.steps[0].turns <= plan(curlew, 4.9, 4.0).steps[0].turns


def test_everything_is_said_in_json_si_with_units_in_the_names(curlew: Machine) -> None:
    made = json.loads(json.dumps(plan(curlew, 6.2, 6.4).to_dict(), allow_nan=False))
    assert made["readings_m"] == pytest.approx({"lower": 0.0062, "upper": 0.0064})
    assert made["steps"][0]["turns"] == -2.0
    assert made["steps"][3]["gap_m"] == pytest.approx(0.00375)
    assert made["adjusters"]["window_m"] == [0.0025, 0.005]
    assert set(made["probability_inside_after"]) == {"lower", "upper"}


def test_us_units(curlew: Machine) -> None:
    turn = plan(curlew, 6.2, 4.1).steps[0]
    assert "from 0.244 in to about 0.136 in" in turn.words(us=True)


def test_cautions_are_those_of_work_at_rest_and_name_the_springs() -> None:
    assert set(AT_REST) <= set(CAUTIONS)
    assert any("spring-loaded" in caution for caution in CAUTIONS)


def test_assumed_values_are_said_with_what_was_taken(tmp_path: Path) -> None:
    knot = load_machine(written(tmp_path, SMALL))
    said = " ".join(plan(knot, 6.2, 4.1).assumed)
    for part in (
        "lower.adjuster.kind (clevis)", "lower.adjuster.leverage (0.7 to 1.3)",
        "upper.adjuster.kind (clamp)", "chain.feeler_step (0.05 mm)",
        "limits.clearance (2.5 mm .. 5 mm)", "upper.adjuster.coupling (0 % to 20 %)",
    ):  # fmt: skip
        assert part in said
    assert "upper.adjuster.thread_pitch" not in said  # a clamp has none
    assert plan(load_machine("curlew"), 6.2, 4.1).assumed == ()


def test_without_the_race_the_middle_of_the_room_is_taken_and_said(tmp_path: Path) -> None:
    bare = load_machine(
        written(tmp_path, '[machine]\nname = "Ruff"\n[[chain.pawls]]\nname = "lower"\n')
    )
    steps = pawl_steps(bare, lower_gap=0.0062)
    assert not steps.leave
    assert "what the race says is not known" in steps.because()[0]
    (aim,) = steps.aims.pawls
    assert aim.room is not None
    assert aim.gap == pytest.approx(sum(aim.room) / 2, abs=0.1e-3)


def test_a_machine_without_pawls_is_told(tmp_path: Path) -> None:
    bare = load_machine(written(tmp_path, '[machine]\nname = "Ruff"\n'))
    with pytest.raises(NotKnownError, match="chain"):
        pawl_steps(bare, lower_gap=0.003)


def test_a_window_that_is_too_narrow_is_told_with_the_surest_gap(tmp_path: Path) -> None:
    text = SMALL + '[limits]\nclearance = "3 mm .. 3.3 mm"\n'
    steps = plan(load_machine(written(tmp_path, text)), 4.0, 3.1)
    assert all(not aim.sure_enough and aim.room is None for aim in steps.aims.pawls)
    assert "no gap is inside 3 to 3.3 mm with 99 %" in steps.because()[0]


REFUSED = [
    ({"lower_gap": 0.0, "upper_gap": 0.003}, "lower = 0 mm", "rests on the ratchet"),
    ({"lower_gap": 0.003, "upper_gap": -0.001}, "upper = -1 mm", "less than nothing"),
    ({"lower_gap": 6.2, "upper_gap": 0.003}, "lower = 6200 mm", "6.2 mm is 0.0062"),
    ({"lower_gap": 6.2e-6, "upper_gap": 0.003}, "lower = 0.0062 mm", "6.2 mm is 0.0062"),
    ({"lower_gap": math.nan, "upper_gap": 0.003}, "lower = nan", "not a finite number"),
    ({"lower_gap": math.inf, "upper_gap": 0.003}, "lower = inf", "not a finite number"),
    ({"lower_gap": True, "upper_gap": 0.003}, "lower = True", "not a number"),
    ({"lower_gap": "6.2 mm", "upper_gap": 0.003}, "lower = '6.2 mm'", "not a number"),
    ({"lower_gap": 0.003}, "gap of upper", "not measured"),
    ({}, "gap of lower", "not measured"),
    ({"gaps": {"lwer": 0.003, "upper": 0.003}}, "gap of lwer", 'Did you mean "lower"?'),
    ({"gaps": {"lower": 0.003}, "lower_gap": 0.003, "upper_gap": 0.003}, "lower", "given twice"),
]  # fmt: skip


@pytest.mark.parametrize(("given", "what", "why"), REFUSED)
def test_what_no_feeler_reads_is_refused_in_clear_words(
    curlew: Machine, given: dict[str, object], what: str, why: str
) -> None:
    with pytest.raises(SettingError) as refused:
        pawl_steps(curlew, **given)  # type: ignore[arg-type]
    said = str(refused.value)
    assert what in said
    assert why in said
    assert "Allowed:" in said


def test_both_pawls_out_by_20_mm_is_a_part_to_look_at_and_no_turns(curlew: Machine) -> None:
    with pytest.raises(SettingError) as refused:
        plan(curlew, 24.0, 23.6)
    said = " ".join(str(refused.value).split())
    assert "gap of lower, gap of upper = 24 mm, 23.6 mm" in said
    assert "Do not wind the thread out" in said
    assert "All pawls are off alike, so look first at what they share" in said
    assert "bent pawl" in said


def test_one_pawl_far_out_is_not_laid_to_what_both_share(curlew: Machine) -> None:
    with pytest.raises(SettingError) as refused:
        plan(curlew, 3.6, 23.6)
    assert "Do not force the clamp" in str(refused.value)
    assert "alike" not in str(refused.value)


def test_a_pawl_of_another_machine_is_refused_with_those_there_are() -> None:
    with pytest.raises(SettingError, match="its pawls: drive"):
        pawl_steps(load_machine("sanderling"), lower_gap=0.003)


@pytest.mark.parametrize("step", [0.0, -1e-4, 0.05, math.nan])
def test_a_feelers_step_that_cannot_be_is_refused(curlew: Machine, step: float) -> None:
    with pytest.raises(ValueError, match=r"feeler step"):
        plan(curlew, 6.2, 4.1, feeler_step=step)


@pytest.mark.parametrize(
    ("history", "why"),
    [
        ([({"lwer": 0.003}, {"lower": 0.003})], "no such pawl"),
        ([({"lower": 3.0}, {"lower": 0.003})], "it cannot be"),
        ([({"lower": 0.003}, {"lower": 0.003}, {"lower": math.nan})], "it cannot be"),
        (["lower"], "not a past setting"),
        ([Adjustment({"lower": -0.003}, {})], "it cannot be"),
    ],
)
def test_a_past_setting_that_cannot_be_is_refused(
    curlew: Machine, history: list[object], why: str
) -> None:
    with pytest.raises(SettingError, match=why) as refused:
        plan(curlew, 6.2, 4.1, history=history)
    assert "past setting 1" in str(refused.value)


def test_a_coarser_feeler_leaves_less_room(curlew: Machine) -> None:
    fine, coarse = (plan(curlew, 3.5, 3.5, feeler_step=s * 1e-3) for s in (0.02, 0.5))
    for one, other in zip(fine.aims.pawls, coarse.aims.pawls, strict=True):
        assert one.room is not None
        assert other.room is not None
        assert one.room[0] < other.room[0] < other.room[1] < one.room[1]


def test_pawls_that_take_each_other_along_without_end_are_planned_all_the_same(
    tmp_path: Path,
) -> None:
    # Three pawls, each moving the others back by half: all moved alike, nothing moves.
    clamp = '[chain.pawls.adjuster]\nkind = "clamp"\ncoupling = "-50 %"\n'
    pawls = "".join(f'[[chain.pawls]]\nname = "{n}"\n{clamp}' for n in ("a", "b", "c"))
    machine = load_machine(written(tmp_path, f'[machine]\nname = "Ruff"\n{pawls}'))
    steps = pawl_steps(machine, gaps={"a": 0.006, "b": 0.006, "c": 0.0065})
    json.dumps(steps.to_dict(), allow_nan=False)
