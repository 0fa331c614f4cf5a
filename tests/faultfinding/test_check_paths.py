"""What a check path watches, shows and makes in passing, recounted from the tables one by one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.faultfinding.problems import number, problem_of
from tripmargin.faultfinding.suspects.check_paths import (
    made_by,
    path_named,
    shown_by,
    signs_in,
    watched_in,
)
from tripmargin.machine import demo_machines

machines = pytest.mark.parametrize("name", demo_machines())


def state_of(of, name):
    return next(each for each in of.states if each.name == name)


def shows(name, path, fault):
    of = problem_of(name)
    return bool(shown_by(of, path_named(of.checks, path))[number(of, fault)])


@machines
def test_lamps_beside_the_machine_are_not_watched_while_the_engine_runs(name):
    of = problem_of(name)
    beside = set(of.checks.beside)
    for state in of.states:
        seen = {sign for sign, _, _ in signs_in(of.shown, of.checks, state)}
        every = {sign for sign, _, _ in of.shown.signs}
        assert seen == (every - beside if state.running else every)
        for path in of.checks.paths:
            if state.running:
                assert not beside & set(watched_in(of.shown, of.checks, path, state))


@machines
def test_a_path_that_says_nothing_watches_every_sign_and_the_rolls(name):
    of = problem_of(name)
    for path in of.checks.paths:
        for state in (state_of(of, each) for each in path.states):
            signs = [sign for sign, _, _ in signs_in(of.shown, of.checks, state)]
            watched = list(watched_in(of.shown, of.checks, path, state))
            if path.watch:
                hidden = {sign for sign, _, _ in of.shown.signs} - set(signs)
                assert watched == [each for each in path.watch if each not in hidden]
            else:
                assert watched == [*signs, "rolls"]


@machines
def test_a_path_shows_a_hypothesis_where_one_thing_watched_is_not_a_sound_machines(name):
    of = problem_of(name)
    for path in of.checks.paths:
        found = shown_by(of, path)
        assert not found[of.nothing]
        assert not found[-1]
        words = {}
        for k, state in enumerate(of.states):
            if state.name in path.states:
                for column in watched_in(of.shown, of.checks, path, state):
                    words[state.name, column] = of.shown.words(k, column)
        for look in of.looks:
            if look.question.subject in path.looks:
                words[look.question.id, ""] = look.answers
        for h in range(len(of.hypotheses) - 1):
            assert found[h] == any(row[h] != row[of.nothing] for row in words.values())


@machines
def test_a_path_makes_the_looks_that_are_watched_on_its_way_and_no_other(name):
    of = problem_of(name)
    for path in of.checks.paths:
        made = made_by(of, path)
        assert made.shape == (len(of.problem.checks),)
        assert not made[0]  # the complaint
        for look, passing in zip(of.looks, made[1:], strict=True):
            question = look.question
            if question.kind in ("lamp", "buzzer", "movement"):
                on_the_way = question.state in path.states and question.subject in watched_in(
                    of.shown, of.checks, path, state_of(of, question.state)
                )
                assert passing == on_the_way, question.id
            else:
                assert passing == (question.subject in path.looks), question.id


@machines
def test_what_a_path_makes_shows_nothing_that_the_path_does_not(name):
    of = problem_of(name)
    for path in of.checks.paths:
        found, made = shown_by(of, path), made_by(of, path)
        told = np.zeros_like(found)
        for look, passing in zip(of.looks, made[1:], strict=True):
            if passing:
                told |= look.answers != look.answers[of.nothing]
        told[-1] = False
        assert not (told & ~found).any()


@machines
def test_what_is_not_listed_is_never_said_to_be_shown(name):
    # its row in the tables is a sound machine's: set it to a broken one's and it must stay out
    of = problem_of(name)
    path = path_named(of.checks, of.checks.daily)
    count = len(of.hypotheses)
    broken = next(h for h in range(count) if of.daily_shows[h])
    order = np.array([*range(count - 1), broken])
    looks = tuple(replace(each, answers=each.answers[order]) for each in of.looks)
    other = replace(of, shown=of.shown.of(order), looks=looks)
    assert not shown_by(other, path)[-1]


@pytest.mark.parametrize(
    ("name", "path", "fault", "expected"),
    [
        # dark lamps and a feed that never frees cannot be missed
        ("whimbrel", "daily trip and reset", "F3:open", True),
        ("dunlin", "morning check", "F1:open", True),
        # the hold winding is fed though the module is tripped: its lamp tells
        ("whimbrel", "reset check", "K1:welded", True),
        # the check winding's: only the button, pressed, tells
        ("whimbrel", "daily trip and reset", "T:open", True),
        ("whimbrel", "reset check", "T:open", False),
        # late pawls, weak magnets and noise now and then are beyond lamps and a button
        ("whimbrel", "daily trip and reset", "clearance_wide", False),
        ("whimbrel", "full proof", "clearance_wide", True),
        ("sanderling", "test before work", "S:magnets weak", False),
        ("sanderling", "proof with metal", "S:magnets weak", True),
        ("dunlin", "morning check", "D:noisy", False),
        ("dunlin", "season's proof", "D:noisy", True),
        # the button's own winding: no wake-up look comes near it
        ("dunlin", "wake-up look", "T:open", False),
        ("dunlin", "morning check", "T:open", True),
        # read at the machine with the engine off, not while it runs
        ("dunlin", "wake-up look", "supply in range:open", True),
    ],
)
def test_a_path_proves_what_a_mechanic_would_say_it_proves(name, path, fault, expected):
    # common practice, no source
    assert shows(name, path, fault) is expected


def test_the_daily_test_is_the_path_that_the_file_names():
    of = problem_of("sanderling")
    assert of.checks.daily == "test before work"
    path = path_named(of.checks, of.checks.daily)
    assert np.array_equal(of.daily_shows, shown_by(of, path))
    assert np.array_equal(of.daily_makes, made_by(of, path))
