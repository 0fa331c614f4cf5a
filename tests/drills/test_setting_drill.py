"""Setting drills: pawls that do what they do, against the planner's own play."""

from __future__ import annotations

import json
import random
import re
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest

from tests.machine.files import SMALL, written
from tripmargin import drills
from tripmargin.drills import DrillError, SettingDrill
from tripmargin.drills.scoring import HINT_LEAVES, UNSAFE_LEAVES
from tripmargin.drills.virtual_pawls import VirtualPawls
from tripmargin.machine import Machine, load_machine
from tripmargin.stopping.setting import adjusters_of
from tripmargin.stopping.setting.adjusters import FEEL
from tripmargin.stopping.setting.step_words import CAUTIONS

SEEDS = range(10)


@pytest.fixture(scope="module")
def whimbrel() -> Machine:
    return load_machine("whimbrel")


def best_moves(drill: SettingDrill) -> list[tuple[str, str]]:
    return [(move.do, move.what) for move in drill.best.moves]


def made(machine: Machine, seed: int, moves: list[tuple[str, str]]) -> SettingDrill:
    drill = drills.setting_drill(machine, seed=seed)
    for do, what in moves:
        drill.move(do, what)
    return drill


@pytest.mark.parametrize("name", ["whimbrel", "sanderling", "dunlin"])
def test_the_planners_play_scores_100_when_a_learner_makes_it(name: str) -> None:
    machine, turned = load_machine(name), 0
    for seed in SEEDS:
        drill = drills.setting_drill(machine, seed=seed)
        mine = made(machine, seed, best_moves(drill))
        assert mine.ended
        assert [(x.do, x.came) for x in mine.play.moves] == [
            (x.do, x.came) for x in drill.best.moves
        ]
        assert mine.score().points == 100.0
        turned += any(move.do == "turn" for move in drill.best.moves)
    assert turned >= 3


def test_true_values_lie_between_the_files_limits(whimbrel: Machine) -> None:
    adjusters = adjusters_of(whimbrel)
    lower = whimbrel.get("chain.pawls.lower.adjuster")
    found = []
    for seed in range(200):
        pawls = VirtualPawls(adjusters, seed)
        before = dict(pawls.gaps)
        if not 0.002 < before["lower"] < 0.006:
            continue
        pawls._move("lower", 0.001)  # without any tightening
        share = (pawls.gaps["upper"] - before["upper"]) / 0.001
        found.append((share, pawls._true("lower", "leverage", adjusters.pawls[0].leverage)))
    shares, leverages = np.array(found).T
    for values, limits in ((shares, lower.coupling), (leverages, lower.leverage)):
        assert limits.low - 1e-9 <= values.min() < values.max() <= limits.high + 1e-9
        # a uniform number fills its range: with 100 draws all but a few per cent of it
        assert np.ptp(values) > 0.9 * (limits.high - limits.low)


def test_readings_are_the_feelers_steps_about_the_true_gap(whimbrel: Machine) -> None:
    adjusters = adjusters_of(whimbrel)
    off = []
    for seed in range(60):
        pawls = VirtualPawls(adjusters, seed)
        for _ in range(5):
            reading = pawls.measure("upper")
            assert reading / 5e-5 == pytest.approx(round(reading / 5e-5), abs=1e-9)
            off.append(reading - pawls.gaps["upper"])
    # half a step of 0.05 mm either side, JCGM 100:2008 4.3.7, and the hand's feel; n = 300
    assert np.std(off) == pytest.approx(np.hypot(5e-5 / np.sqrt(12), FEEL), rel=0.15)
    assert abs(np.mean(off)) < 4 * np.std(off) / np.sqrt(len(off))


def test_hands_go_near_only_a_machine_that_is_secured(whimbrel: Machine) -> None:
    drill = drills.setting_drill(whimbrel, seed=1)
    gaps = dict(drill.play.pawls.gaps)
    for do, what in (("measure", "lower"), ("turn", "lower -1"), ("place", "upper 0.0035")):
        move = drill.move(do, what)
        assert move.unsafe
        assert move.minutes == 0
        assert move.caution == " ".join(CAUTIONS)
    assert drill.play.pawls.gaps == gaps
    drill.move("secure")
    assert not drill.move("measure", "lower").unsafe


def test_a_gap_that_may_have_changed_must_be_measured_before_the_end(whimbrel: Machine) -> None:
    drill = made(whimbrel, 1, [("secure", ""), ("measure", "lower")])
    assert "upper" in drill.move("done").why
    drill.move("measure", "upper")
    drill.move("place", "upper 0.0035")
    drill.move("measure", "upper")
    assert "lower" in drill.move("done").why  # the upper took it along
    drill.move("measure", "lower")
    assert not drill.move("done").unsafe


def random_play(drill: SettingDrill, rng: random.Random) -> None:
    """Anything, until it is declared set."""
    drill.move("secure")
    for _ in range(rng.randrange(1, 7)):
        turns, gap = rng.choice([-2, -1, -0.5, 0.5, 1]), rng.choice([0.002, 0.003, 0.004])
        ways = [("measure", "lower"), ("measure", "upper"), ("hint", "")]
        ways += [("turn", f"lower {turns}"), ("place", f"upper {gap}")]
        drill.move(*rng.choice(ways))
    for pawl in ("lower", "upper"):
        drill.move("measure", pawl)
    drill.move("done")


def test_an_unsafe_move_added_to_any_play_takes_from_its_score(whimbrel: Machine) -> None:
    rng, begun = random.Random(4), set()
    for seed in range(60):
        drill = drills.setting_drill(whimbrel, seed=seed)
        random_play(drill, rng)
        before = drill.score()
        begun.add(before.parts[0].name)
        moves = [(move.do, move.what) for move in drill.play.moves]
        first = rng.choice([("measure", "lower"), ("done", ""), ("turn", "lower 0.5")])
        after = made(whimbrel, seed, [first, *moves]).score()
        assert after.points == pytest.approx(before.points * UNSAFE_LEAVES, rel=1e-12)
        assert 0 < after.points < before.points <= 100
        assert after.points <= 70
        assert sum(part.points for part in before.parts) == pytest.approx(before.points)
    assert begun == {"set", "not set"}


def test_hints_lead_to_the_planners_own_end(whimbrel: Machine) -> None:
    for seed in (1, 5):
        drill, hints = drills.setting_drill(whimbrel, seed=seed), 0
        while not drill.ended:
            hint = drill.move("hint")
            hints += 1
            drill.move(hint.came, hint.what)
        assert drill.play.minutes == drill.best.minutes
        assert drill.score().points == pytest.approx(100 * HINT_LEAVES**hints)


def test_gaps_inside_that_will_drift_out_bring_less(whimbrel: Machine) -> None:
    moves = [("secure", ""), ("measure", "lower"), ("measure", "upper")]
    for seed in SEEDS:  # one whose gaps are far off
        drill = drills.setting_drill(whimbrel, seed=seed)
        if any(move.do == "turn" for move in drill.best.moves):
            break
    lazy = made(whimbrel, seed, [*moves, ("done", "")])
    assert lazy.score().points == 2
    pawls = VirtualPawls(adjusters_of(whimbrel), seed)
    pawls.gaps.update(lower=0.00495, upper=0.0036)
    edge = made(whimbrel, seed, moves)
    edge.play.pawls.gaps.update(pawls.gaps)
    edge.move("done")
    assert 2 < edge.score().points < 50


@pytest.mark.parametrize(
    ("do", "what", "why"),
    [
        ("measure", "lwer", "Did you mean 'lower'?"),
        ("turn", "lower 0.3", "multiples of 0.5"),
        ("turn", "lower 90", "up to"),
        ("turn", "lower much", "not what the thread gives"),
        ("turn", "upper 1", "it has a clamp"),
        ("place", "lower 0.003", "it has a clevis"),
        ("place", "upper 3.5", "no gap to place a clamp at"),
        ("dance", "", "no such move"),
    ],
)
def test_what_cannot_be_is_refused_and_costs_nothing(
    whimbrel: Machine, do: str, what: str, why: str
) -> None:
    drill = made(whimbrel, 1, [("secure", "")])
    with pytest.raises(DrillError) as error:
        drill.move(do, what)
    assert why in str(error.value)
    assert len(drill.play.moves) == 1
    with pytest.raises(DrillError, match="half a drill"):
        drill.score()


def test_a_kept_setting_drill_plays_to_the_same_score(whimbrel: Machine, tmp_path: Path) -> None:
    rng = random.Random(6)
    for seed in range(8):
        drill = drills.setting_drill(whimbrel, seed=seed)
        random_play(drill, rng)
        result = drill.result(when=datetime(2026, 5, 4), name="Ann")
        path = tmp_path / "one.json"
        path.write_text(json.dumps(result.to_dict()), encoding="utf-8")
        assert drills.read_result(path) == result
        assert drills.replay(whimbrel, drills.read_result(path)).score() == result.score


def test_a_machine_whose_file_leaves_the_adjusters_out_can_be_practised_on(tmp_path: Path) -> None:
    knot = load_machine(written(tmp_path, SMALL))
    assert drills.setting_drill(knot, seed=2).best_score().points == 100


def test_feelers_in_inches_go_by_whole_thousandths(whimbrel: Machine) -> None:
    drill = drills.setting_drill(whimbrel, seed=3, us=True)
    thousandth = 0.0254 / 1000  # m, exact: international yard and pound agreement, 1959
    step = drill.play.pawls.adjusters.feeler_step / thousandth
    assert step == pytest.approx(round(step), abs=1e-9)
    assert abs(step * thousandth - adjusters_of(whimbrel).feeler_step) <= thousandth / 2
    for move in drill.best.moves:
        made_again = drill.move(move.do, move.what)
        assert made_again.came == move.came
        if move.do == "measure":
            assert re.fullmatch(r"0\.\d{3} in", move.came)
            assert round(float(move.came.split()[0]) * 1000) % round(step) == 0
    assert drill.score().points == 100.0
    result = drill.result(when=datetime(2026, 11, 29, 8), name="Ann")
    assert " in" in result.said
    assert " mm" not in result.said
    assert result.to_dict()["us"] is True
    assert drills.replay(whimbrel, result).score() == result.score


def test_hidden_gaps_are_the_same_in_inches(whimbrel: Machine) -> None:
    metric, inch = (drills.setting_drill(whimbrel, seed=3, us=us) for us in (False, True))
    assert metric.play.pawls.gaps == inch.play.pawls.gaps
    with pytest.raises(DrillError, match=r"gap = '.* in'.*\n  Allowed: up to .* in"):
        drills.setting_drill(load_machine("dunlin"), seed=0, us=True).move("place", "upper 1")
