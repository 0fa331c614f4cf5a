"""The card's own sums for setting pawls in a real browser, held against the program's."""

from __future__ import annotations

import json
import random
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import lru_cache, partial
from typing import Any, TypeVar

import numpy as np
import pytest
from scipy.special import ndtr

from tripmargin.ground.units import percent, shown
from tripmargin.machine import Machine, load_machine
from tripmargin.pictures.setting_words import leave_line
from tripmargin.protection.setting.pawls import PawlSetting, race_of
from tripmargin.protection.setting.seen_race import SeenRace
from tripmargin.reports.card.pawl_data import pawl_data
from tripmargin.reports.one_file import script_of
from tripmargin.stopping.setting import (
    SettingError,
    Steps,
    moves,
    normal_gap,
    pawl_steps,
)
from tripmargin.stopping.setting.in_time import cuts_of
from tripmargin.stopping.setting.rounds import Progress, Round, going_on, net_turns
from tripmargin.stopping.setting.step_words import gap_words, measure_words

T = TypeVar("T")
READINGS, WORKS = 400, 200  # on each machine
MACHINES = ("dunlin", "curlew", "whimbrel", "sanderling")
SCRIPTS = ("pawl_words", "pawl_sequence", "pawls")
PAST = [
    ({"lower": 62e-4, "upper": 41e-4}, {"lower": 37e-4, "upper": 38e-4}, {"lower": -2, "upper": 0}),
    ({"lower": 41e-4, "upper": 44e-4}, {"lower": 34e-4, "upper": 36e-4}, {"lower": -0.5}),
]  # fmt: skip
MOVES = """([all, best]) => all.map(readings => {
    const made = setting.moves(readings, best);
    return [made.moved, made.steps, made.own, made.after, made.after_sd, made.inside];
})"""
WORK = """cases => cases.map(([gaps, rounds]) => {
    try {
        const { known, plan, work } = setting.going(gaps, rounds);
        return {
            known: known.map(each => [each.gap, each.sd, each.fresh]),
            moved: plan.moved, words: plan.steps.map(each => each.words),
            now: setting.insideNow(plan.readings), after: plan.moves.inside,
            leave: setting.leaveLine(plan.readings), net: setting.netTurns(rounds),
            do: work.do, pawl: work.pawl, expect: work.expect,
            said: work.steps.map(each => each.words),
            read: work.expect && PawlWords.expect(work.pawl, work.expect, true, setting.us),
        };
    } catch (error) {
        if (!(error instanceof PawlRefusal)) throw error;
        const { what, value, problem, allowed, hint } = error;
        return { refused: [what, value, problem, allowed, hint] };
    }
})"""


@pytest.fixture(scope="module")
def page(browser: Any) -> Iterator[Any]:
    """A page with the card's script and no network at all."""
    context = browser.new_context(offline=True)
    page = context.new_page()
    page.add_script_tag(content=script_of("tripmargin.reports.card", SCRIPTS))
    yield page
    context.close()


@lru_cache(maxsize=4)
def _machine(name: str) -> tuple[Machine, SeenRace]:
    machine = load_machine(name)
    race = race_of(machine, cuts_of(machine, None))
    assert race is not None
    return machine, race


def _planner(name: str) -> Callable[[Mapping[str, float]], Steps]:
    machine, race = _machine(name)
    return lambda gaps: pawl_steps(machine, gaps=gaps, in_time=race.in_time, history=_past(name))


def _past(name: str) -> list[Any]:
    return PAST if name == "curlew" else []


def _aimed(name: str) -> Steps:
    adjusters, middle = _machine(name)[0], 0.0035
    assert adjusters.chain is not None
    return _planner(name)({pawl.name: middle for pawl in adjusters.chain.pawls})


@lru_cache(maxsize=4)
def _data(name: str) -> dict[str, Any]:
    data = pawl_data(load_machine(name), _past(name))
    assert data is not None
    return data


def _start(page: Any, name: str, us: bool = False) -> None:
    say = "([data, us]) => { globalThis.setting = new PawlSetting(data, us); }"
    page.evaluate(say, [_data(name), us])


def test_the_normal_distribution_is_that_of_scipy(page: Any) -> None:
    # scipy.special.ndtr (Cephes), over all that a double can hold and near where the sums change
    x = np.concatenate([np.linspace(-37, 37, 4001), np.linspace(-3.01, -2.99, 201), [0.0]])
    mine = np.array(page.evaluate("x => x.map(pawlNormal)", x.tolist()))
    np.testing.assert_allclose(mine, ndtr(x), rtol=3e-13, atol=1e-300)


def test_numbers_are_said_as_the_program_says_them(page: Any) -> None:
    # Ties of the binary number itself, which Python rounds to the even digit, are among them.
    chance = random.Random("numbers")
    gaps = [k / 8 * 1e-3 for k in range(1, 80)] + [chance.uniform(0, 0.05) for _ in range(300)]
    odd = [1e-9, 1e-7, 12.345, 3e4, 2.5e11, 1e14, 4e17, -0.002, 0.0254 / 8]
    said = page.evaluate("x => x.map(g => [PawlWords.gap(g, false), PawlWords.gap(g, true)])", gaps)
    assert said == [[gap_words(gap), gap_words(gap, us=True)] for gap in gaps]
    said = page.evaluate(
        "x => x.map(g => [false, true].map(us => PawlWords.length(g, us)))", gaps + odd
    )
    assert said == [[shown(x, "length", us=us) for us in (False, True)] for x in gaps + odd]
    shares = [0.0, 1.0, 3e-7, 1 - 3e-7, 0.5, 0.0625, 0.99224, 0.985501, 0.9995, 0.0005, 0.01]
    shares += [chance.random() ** 3 for _ in range(300)]
    assert page.evaluate("x => x.map(PawlWords.percent)", shares) == [percent(x) for x in shares]


@pytest.mark.parametrize("name", MACHINES)
@pytest.mark.parametrize("best", [False, True])
def test_same_moves_as_the_program(page: Any, name: str, best: bool) -> None:
    aimed, chance = _aimed(name), random.Random(f"moves {name}")
    low, high = aimed.adjusters.window
    readings = np.array(
        [[_reading(chance, low, high) for _ in aimed.readings] for _ in range(READINGS)]
    )
    made = moves(readings, aimed.adjusters, aimed.aims, best=best)
    _start(page, name)
    mine = page.evaluate(MOVES, [readings.tolist(), best])
    theirs = (made.moved, made.steps, made.own, made.after, made.after_sd, made.inside)
    for place, expected in enumerate(theirs):
        found = np.array([case[place] for case in mine])
        if place < 2:
            np.testing.assert_array_equal(found, expected)
        else:
            np.testing.assert_allclose(found, expected, rtol=0, atol=1e-9 if place == 5 else 1e-12)
    assert made.moved.any(axis=0).all()  # every pawl is moved in some


def _reading(chance: random.Random, low: float, high: float) -> float:
    """A gap as a feeler reads it, in the window as often as beyond."""
    span = high - low
    far = high + (1.5 if chance.random() < 0.9 else 8) * span
    gap = chance.uniform(low, high) if chance.random() < 0.5 else chance.uniform(0, far)
    return round(max(gap, 0.0002) / 5e-5) * 5e-5


def _wander(name: str, chance: random.Random) -> tuple[dict[str, float], list[Round]]:
    """Readings, and rounds as they may go: what was told and what was not, in any order."""
    each = _aimed(name).adjusters
    readings = {pawl: _reading(chance, *each.window) for pawl in each.names}
    rounds = []
    for _ in range(chance.randrange(5)):
        one = chance.choice(each.pawls)
        gap, what = _reading(chance, *each.window), chance.random()
        turns = chance.randrange(-6, 7) * one.smallest_turn
        moved = {"turns": turns} if one.kind == "clevis" else {"placed": True}
        rounds.append(Round(one.pawl, gap, **(moved if what < 0.7 else {})))
    return readings, rounds


def _plain(one: Round) -> dict[str, Any]:
    return {"pawl": one.pawl, "gap": one.gap, "turns": one.turns, "placed": one.placed}


@pytest.mark.parametrize(("name", "us"), [*((name, False) for name in MACHINES), ("curlew", True)])
def test_same_next_work_and_sentences_as_the_program(page: Any, name: str, us: bool) -> None:
    chance, plan_for = random.Random(f"work {name}"), _planner(name)
    cases = [_wander(name, chance) for _ in range(WORKS)]
    _start(page, name, us)
    found = page.evaluate(WORK, [[gaps, [_plain(one) for one in rounds]] for gaps, rounds in cases])
    done = set()
    for (gaps, rounds), mine in zip(cases, found, strict=True):
        progress, refused = _or_refused(partial(going_on, plan_for, gaps, rounds))
        if progress is None:
            done.add("refused")
            assert mine["refused"] == refused or us  # the program refuses in millimetres alone
            continue
        _same(mine, progress, us)
        assert mine["net"] == pytest.approx(net_turns(rounds), rel=0, abs=1e-12)
        done.add(progress.work.do)
    several = {"place", "measure"} if name != "sanderling" else set()
    assert done == {"turn", "done", "refused"} | several


def _same(mine: dict[str, Any], progress: Progress, us: bool) -> None:
    plan, work = progress.plan, progress.work
    for one, known in zip(mine["known"], progress.known.values(), strict=True):
        assert one[:2] == pytest.approx([known.gap, known.sd], rel=0, abs=1e-9)
        assert one[2] == known.fresh
    assert mine["moved"] == list(plan.moved)
    assert mine["now"] == pytest.approx(list(plan.inside_now.values()), rel=0, abs=1e-9)
    assert mine["after"] == pytest.approx(list(plan.inside_after.values()), rel=0, abs=1e-9)
    assert mine["words"] == [step.words(us) for step in plan.steps]
    if plan.leave:
        assert mine["leave"] == leave_line(PawlSetting(plan, (), ""), us)
    assert (mine["do"], mine["pawl"]) == (work.do, work.pawl)
    assert mine["said"] == [step.words(us) for step in work.steps]
    if work.expect is None:
        assert mine["expect"] is None
    else:
        assert mine["expect"] == pytest.approx(work.expect, rel=0, abs=1e-9)
        said = measure_words(work.pawl, work.expect, None, last=False, again=True, us=us)
        assert said.startswith(mine["read"])


def _or_refused(made: Callable[[], T]) -> tuple[T | None, list[str] | None]:
    try:
        return made(), None
    except SettingError as error:
        return None, [error.what, error.value, error.problem, error.allowed, error.hint]


@pytest.mark.parametrize("name", MACHINES)
def test_refused_readings_are_refused_with_the_same_words(page: Any, name: str) -> None:
    plan_for, names = _planner(name), _aimed(name).adjusters.names
    seen: list[Any] = [None, 0, -0.001, 3e-6, 0.051, 62.0, float("nan"), float("inf"), "6.2 mm"]
    seen += [0.0129, 0.0181, 0.03, 1e-5]
    cases = [
        dict.fromkeys(names, 0.0035) | {names[k % len(names)]: gap} for k, gap in enumerate(seen)
    ]
    cases += [{n: gap + 0.0001 * k for k, n in enumerate(names)} for gap in (0.016, 0.02, 0.05)]
    _start(page, name)
    found = page.evaluate(WORK, [[gaps, []] for gaps in cases])
    for gaps, mine in zip(cases, found, strict=True):
        _, refused = _or_refused(partial(plan_for, gaps))
        assert mine.get("refused") == refused
    assert sum("refused" in mine for mine in found) >= 11


def test_a_machine_without_pawls_has_no_such_page() -> None:
    machine = load_machine("dunlin")
    assert pawl_data(replace(machine, chain=None)) is None


def test_without_a_sensor_the_stop_alone_is_told_and_without_a_feed_nothing_of_it() -> None:
    machine = load_machine("dunlin")
    alone = pawl_data(replace(machine, sensor=None))
    assert alone is not None
    assert [len(each["on_grid"]) for each in alone["effects"]["cuts"]] == [7] * 4
    assert alone["words"]["needs"]
    none = pawl_data(replace(machine, sensor=None, feed=None))
    assert none is not None
    assert none["effects"] is None
    json.dumps([alone, none], allow_nan=False)


def test_between_the_gaps_that_were_raced_a_straight_line_serves() -> None:
    race, table = _machine("whimbrel")[1], _data("whimbrel")["effects"]  # where a gap costs most
    gaps, effects = table["gaps_m"], table["cuts"]
    sd = _aimed("whimbrel").adjusters.set_sd()
    for row in effects:
        for k in (0, 3):
            middle = (gaps[k] + gaps[k + 1]) / 2
            alike = {n: normal_gap(middle, s) for n, s in zip(("lower", "upper"), sd, strict=True)}
            verdict = race.verdict(alike, row["cut_length_m"])
            for key, value, off in (
                ("stop_time_s", verdict.stop_time, 1e-4), ("margin_m", verdict.margin, 1e-3),
            ):  # fmt: skip
                assert value is not None
                line = np.mean([row["on_grid"][k][key], row["on_grid"][k + 1][key]], axis=0)
                assert line[0] == pytest.approx(value.nominal, rel=0, abs=off)
