""" "Would it stop?" drills: what is asked, what an answer is worth, what is kept."""

from __future__ import annotations

import json
from collections import Counter
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.machine.files import SMALL, written
from tripmargin import drills
from tripmargin.drills import Answer, DrillError, WouldItStop, points_of, would_it_stop
from tripmargin.drills.would_it_stop_answers import REGIONS, region_of
from tripmargin.drills.would_it_stop_kinds import IN_TIME, NOT_FERROUS
from tripmargin.drills.would_it_stop_races import Races, Situation
from tripmargin.ground.errors import NotKnownError
from tripmargin.machine import Machine, load_machine
from tripmargin.protection import race
from tripmargin.sensing import Piece, simulate_pass
from tripmargin.stopping.feed import metal_speed

SEED, AT = 3, datetime(2026, 11, 29, 8, tzinfo=UTC)


@pytest.fixture(scope="module")
def whimbrel() -> Machine:
    return load_machine("whimbrel")


@pytest.fixture(scope="module")
def asked(whimbrel: Machine) -> WouldItStop:
    return would_it_stop(whimbrel, seed=SEED)


def fresh(drill: WouldItStop) -> WouldItStop:
    """The same questions, none of them answered."""
    return WouldItStop(drill.machine, drill.seed, drill.questions, drill.about)


def played(drill: WouldItStop, answers: list[str]) -> WouldItStop:
    again = fresh(drill)
    for text in answers:
        again.answer(text)
    return again


def simplex() -> st.SearchStrategy[tuple[float, float, float]]:
    """Three chances that sum to 1."""
    share = st.floats(0, 1)
    return st.tuples(share, share).map(lambda two: (min(two), max(two) - min(two), 1 - max(two)))


def test_the_chances_are_those_of_the_race(asked: WouldItStop, whimbrel: Machine) -> None:
    # The same input asked of protection.race, which the drill does not call: it keeps the stop.
    for question in asked.questions:
        at = question.situation
        run = race(
            whimbrel, cut_length=at.cut_length, piece=Piece.from_text(at.piece), x=at.x,
            height=at.height, **at.settings,
        )  # fmt: skip
        missed, late, safe = question.chances
        assert missed == pytest.approx(run.probability_missed, abs=1e-9)
        assert missed + late == pytest.approx(run.probability_through, abs=1e-9)
        assert missed + late + safe == pytest.approx(1, abs=1e-12)
        if run.margin is not None:
            assert question.race.margin == pytest.approx(run.margin, abs=1e-9)


def test_its_place_on_the_map_is_the_ball_of_the_same_signal(asked: WouldItStop) -> None:
    for question in asked.questions[:3]:
        at, machine = question.situation, question.machine
        speed = metal_speed(machine, at.cut_length)
        ball = simulate_pass(
            machine, Piece.ball(question.as_ball), x=at.x, height=at.height, speed=speed
        )
        # Eddy currents do not grow with the volume, but with its 5/3rd power: a small part of it.
        assert ball.peak / ball.threshold == pytest.approx(question.signal, rel=0.05)


def test_the_same_seed_asks_the_same(asked: WouldItStop, whimbrel: Machine) -> None:
    again = would_it_stop(whimbrel, seed=SEED)
    assert [q.to_dict() for q in again.questions] == [q.to_dict() for q in asked.questions]
    other = would_it_stop(whimbrel, seed=SEED + 1, questions=2)
    assert other.questions[0].situation != asked.questions[0].situation


@pytest.mark.parametrize("name", ["whimbrel", "dunlin", "sanderling"])
def test_no_part_of_the_map_has_the_majority_and_some_lie_on_an_edge(name: str) -> None:
    machine = load_machine(name)
    questions = would_it_stop(machine, seed=5).questions
    sure = machine.limits.confidence.nominal
    parts = Counter(
        region_of(q.chances, sure) if max(q.chances) >= sure else "edge" for q in questions
    )
    assert len(questions) == 8
    assert max(parts.values()) <= 4, parts
    assert parts["edge"] >= 1
    assert len(parts) >= 3
    assert any(q.kind == NOT_FERROUS for q in questions)
    assert len({(q.situation.piece, q.situation.cut_length) for q in questions}) == 8


def test_every_piece_lies_between_the_rolls(asked: WouldItStop, whimbrel: Machine) -> None:
    for question in asked.questions:
        at, piece = question.situation, Piece.from_text(question.situation.piece)
        assert abs(at.x) <= whimbrel.feed.roll_width.nominal / 2
        smallest = min(piece.dimensions)
        assert smallest / 2 <= at.height <= whimbrel.feed.crop_depth.high


@given(said=simplex(), true=simplex())
def test_the_exact_chances_score_100_and_nothing_beats_them(
    said: tuple[float, float, float], true: tuple[float, float, float]
) -> None:
    best = points_of(Answer.exactly(true), true)
    assert best == 100.0
    assert 0 <= points_of(Answer("", said), true) <= best


@given(said=simplex(), true=simplex())
def test_points_are_briers_score_over_what_comes_about(
    said: tuple[float, float, float], true: tuple[float, float, float]
) -> None:
    # Brier 1950 (from memory): the mean over outcomes of the squared distance from what came about.
    def brier(forecast: tuple[float, float, float]) -> float:
        outcomes = np.eye(3)
        distance = ((np.array(forecast) - outcomes) ** 2).sum(axis=1)
        return float(distance @ np.array(true))

    expected = 100 - 50 * (brier(said) - brier(true))
    assert points_of(Answer("", said), true) == pytest.approx(expected, abs=1e-9)


@given(first=simplex(), second=simplex(), said=simplex())
def test_whoever_is_in_two_minds_does_best_by_saying_so(
    first: tuple[float, float, float],
    second: tuple[float, float, float],
    said: tuple[float, float, float],
) -> None:
    # Proper: with the chances one or the other, even, nothing is worth more than their middle.
    middle = tuple((a + b) / 2 for a, b in zip(first, second, strict=True))

    def mean(chances: tuple[float, ...]) -> float:
        answer = Answer("", chances)  # type: ignore[arg-type]
        return (points_of(answer, first) + points_of(answer, second)) / 2

    assert mean(said) <= mean(middle) + 1e-9


@given(true=simplex(), word=st.sampled_from(["missed", "too late", "protected"]),
       sure=st.integers(34, 100))  # fmt: skip
def test_no_word_beats_the_exact_chances(
    true: tuple[float, float, float], word: str, sure: int
) -> None:
    assert points_of(Answer.of(f"{word} {sure}"), true) <= 100
    assert points_of(Answer.of("doubtful"), true) <= 100


def test_the_best_answers_score_100(asked: WouldItStop) -> None:
    best = [Answer.exactly(q.chances).text for q in asked.questions]
    drill = played(asked, best)
    assert drill.score().points == pytest.approx(100, abs=1e-9)
    assert drill.best_score().points == 100
    assert sum(part.points for part in drill.score().parts) == pytest.approx(100)


@pytest.mark.parametrize(
    ("text", "chances"),
    [
        ("missed", (1, 0, 0)),
        ("Too Late", (0, 1, 0)),
        ("protected 80 %", (0.1, 0.1, 0.8)),
        ("doubtful", (1 / 3, 1 / 3, 1 / 3)),
        ("10 0 90", (0.1, 0, 0.9)),
        ("10/20/70", (0.1, 0.2, 0.7)),
        ("33 33 33", (1 / 3, 1 / 3, 1 / 3)),
        ("12.5 0 87.5", (0.125, 0, 0.875)),
    ],
)
def test_an_answer_is_read(text: str, chances: tuple[float, float, float]) -> None:
    answer = Answer.of(text)
    assert answer.chances == pytest.approx(chances, abs=1e-12)
    assert Answer.of(answer.text).chances == pytest.approx(answer.chances, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "not an answer"),
        ("stopped", "not an answer"),
        ("late", "Did you mean “too late”?"),
        ("protectd 80", "Did you mean “protected”?"),
        ("protected 20", "34 to 100"),
        ("protected 101", "34 to 100"),
        ("protected 80,5", "not a number"),
        ("protected nan", "not a number"),
        ("doubtful 60", "takes no number"),
        ("50 50 50", "do not make 100 %"),
        ("-10 10 100", "do not make 100 %"),
        ("10 90", "not an answer"),
        ("10 x 90", "not an answer"),
    ],
)
def test_what_is_no_answer_is_refused_and_not_counted(
    asked: WouldItStop, text: str, why: str
) -> None:
    drill = fresh(asked)
    with pytest.raises(DrillError) as error:
        drill.answer(text)
    assert why in str(error.value)
    assert drill.answered == []


def test_half_a_drill_has_no_score_and_an_ended_one_no_further_answer(asked: WouldItStop) -> None:
    drill = fresh(asked)
    drill.answer("missed")
    with pytest.raises(DrillError, match="half a drill"):
        drill.result(when=AT)
    drill = played(asked, ["doubtful"] * 8)
    assert drill.now is None
    with pytest.raises(DrillError, match="has ended"):
        drill.answer("missed")


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ({"seed": -1}, "below 0"),
        ({"questions": 0}, "1 to 24"),
        ({"questions": 25}, "1 to 24"),
        ({"about": ["slow food"]}, "no such kind of lesson"),
    ],
)
def test_a_drill_that_cannot_be_is_refused(whimbrel: Machine, wrong: dict, why: str) -> None:
    with pytest.raises(DrillError, match=why):
        would_it_stop(whimbrel, **{"seed": 1, **wrong})


def test_a_machine_that_does_not_say_enough_gives_none(tmp_path: Path) -> None:
    with pytest.raises(NotKnownError, match="would it stop"):
        would_it_stop(load_machine(written(tmp_path, SMALL)), seed=1)


def test_what_is_asked_tells_no_answer(asked: WouldItStop) -> None:
    for question in asked.questions:
        kept = question.to_dict(answered=False)
        assert set(kept) == {"piece", "cut_length_m", "x_m", "height_m", "settings"}
        words = " ".join(value for _, value in drills.asked_words(question))
        assert not any(name in words for name in (*REGIONS, "threshold", "margin"))


def test_what_is_told_is_what_the_race_says(asked: WouldItStop) -> None:
    for question in asked.questions:
        told = drills.told_words(question)
        assert told[0].endswith(f"The map calls that {question.region}.")
        text = " ".join(told)
        margin = question.race.margin
        if margin is None:
            assert "of the threshold" in text
        else:
            assert f"{abs(margin * 1e3):.3g} mm" in text
            assert ("past the shear bar" in text) == (margin < 0)
        us = " ".join((*drills.told_words(question, us=True),
                       *(v for _, v in drills.asked_words(question, us=True))))  # fmt: skip
        assert " in " in us
        assert " mm " not in us.replace(Piece.from_text(question.situation.piece).name, "")


def test_what_would_have_been_better_is_better(asked: WouldItStop) -> None:
    for question in asked.questions:
        if question.better is None or question.better.what == "none":
            continue
        missed, late, _ = question.chances
        run = question.better.race
        if missed >= late:
            assert run.probability_missed < 0.5
        else:
            assert run.probability_through < 0.5
        assert question.kind != IN_TIME


def test_a_setting_is_worked_out_once_and_comes_out_the_same(whimbrel: Machine) -> None:
    races = Races(whimbrel)
    at = Situation("15 mm ball", 0.022, 0.05, 0.03, {"chain.supply": "11 V +- 0.6 V"})
    assert races.race(at).probability_through == races.race(at).probability_through
    assert races.stops(at.settings) is races.stops({"chain.supply": "11 V +- 0.6 V"})
    piece = Piece.from_text(at.piece)
    run = race(whimbrel, cut_length=0.022, piece=piece, x=0.05, height=0.03, **at.settings)
    assert races.race(at).probability_through == pytest.approx(run.probability_through, abs=1e-12)


def test_a_kept_drill_is_read_back_and_plays_to_the_same_score(
    asked: WouldItStop, whimbrel: Machine, tmp_path: Path
) -> None:
    texts = ["missed 80", "too late", "doubtful", "10 20 70"]
    result = played(asked, texts * 2).result(when=AT, name="Ann")
    path = tmp_path / "one.json"
    path.write_text(json.dumps(result.to_dict()), encoding="utf-8")
    kept = drills.read_result(path)
    assert kept == result
    again = drills.replay(whimbrel, kept)
    assert again.score() == result.score
    best = [move.what for move in kept.best]
    assert played(asked, best).score().points == pytest.approx(100, abs=1e-9)
    path.write_text(json.dumps({**result.to_dict(), "by_kind": []}), encoding="utf-8")
    with pytest.raises(DrillError, match="by_kind"):
        drills.read_result(path)
    path.write_text(json.dumps({**result.to_dict(), "about": [3]}), encoding="utf-8")
    with pytest.raises(DrillError, match="about"):
        drills.read_result(path)


def test_what_went_wrong_is_due_again_by_its_kind(asked: WouldItStop, whimbrel: Machine) -> None:
    best = [Answer.exactly(q.chances).text for q in asked.questions]
    wrong = asked.questions[0].kind
    worst = [
        "missed" if q.chances[2] > 0.5 else "protected" if q.kind == wrong else text
        for q, text in zip(asked.questions, best, strict=True)
    ]
    worst = [
        text if q.kind != wrong else said
        for q, text, said in zip(asked.questions, best, worst, strict=True)
    ]
    result = played(asked, worst).result(when=AT)
    found = {each.kind: each for each in drills.practised([result])}
    assert set(found) == {q.kind for q in asked.questions}
    assert found[wrong].box == 1
    assert all(each.box == 2 for kind, each in found.items() if kind != wrong)
    later = AT + timedelta(days=1, hours=1)
    assert drills.kinds_due([result], machine="Whimbrel", now=later) == (wrong,)
    assert drills.kinds_due([result], machine="Dunlin", now=later) == ()
    again = would_it_stop(whimbrel, seed=40, questions=4, about=(wrong,))
    assert wrong in {q.kind for q in again.questions}
    assert (
        would_it_stop(whimbrel, seed=40, questions=4, about=(wrong,)).questions[0].situation
        == again.questions[0].situation
    )
