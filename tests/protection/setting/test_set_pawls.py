"""Setting the pawls by the race that the sensor starts, and what it brings at each cut."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.machine.files import SMALL, written
from tripmargin import load_machine, protection
from tripmargin.ground.quantities import Quantity
from tripmargin.machine.loading import demo_path
from tripmargin.protection import PawlSetting, set_pawls
from tripmargin.stopping import SettingError
from tripmargin.stopping.setting import normal_gap

LONG = 0.028  # m, Whimbrel's longest cut: doubtful as worn


@pytest.fixture(scope="module")
def worn() -> PawlSetting:
    return set_pawls(
        load_machine("whimbrel"), lower_gap=0.0062, upper_gap=0.0058, cut_lengths=[0.012, LONG]
    )


def test_the_gaps_are_aimed_low_where_the_long_cut_asks_for_it(worn: PawlSetting) -> None:
    for aim in worn.steps.aims.pawls:
        assert aim.race_matters
        assert 2.6e-3 < aim.gap < 3.1e-3  # the window runs to 5 mm
        assert aim.inside >= worn.steps.adjusters.confidence_each
    (because,) = worn.steps.because()
    assert "of travel at the 28 mm cut" in because


def test_the_effect_is_shown_before_and_after_with_limits(worn: PawlSetting) -> None:
    assert [effect.cut_length for effect in worn.effects] == [0.012, LONG]
    for effect in worn.effects:
        assert effect.after is not None
        for verdict in (effect.before, effect.after, effect.at_aim):
            for value in (verdict.stop_time, verdict.travel, verdict.margin):
                assert value is not None
                assert value.low < value < value.high
        assert effect.after.stop_time < effect.before.stop_time
        assert effect.after.margin > effect.before.margin
    last = worn.effects[1]
    assert last.before.verdict == "doubtful"
    assert last.after is not None
    assert last.after.protected > last.before.protected


def test_the_effect_is_that_of_a_proof_with_the_same_gaps(worn: PawlSetting) -> None:
    sd = worn.steps.adjusters.reading_sd
    gaps: dict[str, Quantity] = {n: normal_gap(g, sd) for n, g in worn.steps.readings.items()}
    machine = load_machine("whimbrel").with_settings({"clearance": gaps})
    (cut,) = protection.prove(machine, cut_lengths=[LONG]).cuts
    before = worn.effects[1].before
    assert before.protected == pytest.approx(cut.protected, abs=0.01)
    assert before.stop_time == pytest.approx(float(cut.stop_time), rel=1e-6)
    assert before.margin == pytest.approx(float(cut.margin), abs=2e-3)


def test_what_is_left_alone_shows_what_the_aim_would_bring() -> None:
    found = set_pawls(
        load_machine("whimbrel"), lower_gap=0.0044, upper_gap=0.0047, cut_lengths=[LONG]
    )
    assert found.steps.leave
    (effect,) = found.effects
    assert effect.after is None
    assert effect.aim_is_better
    assert (effect.before.verdict, effect.at_aim.verdict) == ("doubtful", "protected")
    best = set_pawls(
        load_machine("whimbrel"), lower_gap=0.0044, upper_gap=0.0047, cut_lengths=[LONG], best=True
    )
    assert best.steps.moved == ("lower", "upper")
    assert best.effects[0].after is not None
    assert best.effects[0].after.verdict == "protected"


def test_without_the_sensor_the_race_is_that_from_above_its_axis(tmp_path: Path) -> None:
    text = demo_path("curlew").parent.joinpath("type-trailed-electric.toml").read_text("utf-8")
    head, rest = text.split("[sensor] ", 1) if "[sensor] " in text else text.split("[sensor]", 1)
    path = written(tmp_path, head + "[detector]" + rest.split("[detector]", 1)[1])
    found = set_pawls(load_machine(path), lower_gap=0.0062, upper_gap=0.0062, cut_lengths=[0.012])
    assert any(need.startswith("sensor") for need in found.needs)
    (effect,) = found.effects
    assert effect.before.verdict == "not known"
    assert effect.after is not None
    assert effect.after.travel < effect.before.travel
    assert found.steps.aims.cuts == (0.012,)


def test_without_the_race_only_the_steps_are_given(tmp_path: Path) -> None:
    knot = load_machine(written(tmp_path, SMALL))
    found = set_pawls(knot, lower_gap=0.0062, upper_gap=0.0041)
    assert found.steps.moved
    assert found.effects == ()
    assert found.needs


def test_all_of_it_as_json(worn: PawlSetting) -> None:
    made = json.loads(json.dumps(worn.to_dict(), allow_nan=False))
    assert made["effects"][1]["before"]["verdict"] == "doubtful"
    assert made["effects"][1]["after"]["stop_time_s"]["high"] > 0
    assert made["steps"][0]["do"] == "turn"
    assert made["cautions"][0].startswith("Engine off")


def test_bad_gaps_are_refused_before_the_sensor_is_looked_up() -> None:
    with pytest.raises(SettingError, match="rests on the ratchet"):
        set_pawls(load_machine("whimbrel"), lower_gap=0.0, upper_gap=0.003)
