"""What the lamps of a sound machine show in its daily check, against what fault finding says."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.faultfinding.problems import problem_of
from tripmargin.circuit import HEARD, operate
from tripmargin.faultfinding import daily_test
from tripmargin.faultfinding.suspects.check_paths import path_named
from tripmargin.faultfinding.suspects.sound_signs import sound_steps
from tripmargin.faultfinding.wording.lamp_words import Lamps, lamp_words
from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import speaking
from tripmargin.machine import demo_machines, load_machine


def test_the_steps_are_those_of_fault_findings_own_daily_test() -> None:
    of = problem_of("dunlin")
    path = path_named(of.checks, of.checks.daily)
    names = [state.name for state in of.states]
    found = sound_steps(of.machine)
    assert [step.do for step in found] == [step.do for step in daily_test(of)]
    for state, step in zip(path.states, found, strict=True):
        number = names.index(state)
        assert step.running == of.states[number].running
        for sign in step.signs:
            word = HEARD[sign.word] if sign.kind == "buzzer" else sign.word
            assert word == str(of.shown.words(number, sign.name)[of.nothing])
        assert step.rolls == str(of.shown.words(number, "rolls")[of.nothing])
        seen = {sign.name for sign in step.signs} | set(step.not_seen)
        assert seen == set(of.shown.network.indicators)


@pytest.mark.parametrize("name", demo_machines())
def test_the_lamps_agree_with_the_modules_memory(name: str) -> None:
    """A sound machine is tripped when it wakes and after its button, and feeds in between."""
    machine = load_machine(name)
    steps = {step.step: {s.name: s.word for s in step.signs} for step in sound_steps(machine)}
    assert list(steps) == [
        step for step in ("armed", "lamps tried", "reverse to reset", "running", "check pressed",
                          "check let go", "forward") if step in steps
    ]  # fmt: skip
    latched = {step: words["trip latched"] for step, words in steps.items()}
    assert {latched[step] for step in ("armed", "check pressed", "check let go")} == {"on"}
    assert {latched[step] for step in ("reverse to reset", "running", "forward")} == {"off"}


@pytest.mark.parametrize("name", demo_machines())
def test_the_rolls_stop_on_the_button_and_stay_stopped_until_a_reset(name: str) -> None:
    # What the daily check is made for; the machines' own rules (design), no outside source.
    rolls = {step.step: step.rolls for step in sound_steps(load_machine(name))}
    assert rolls["armed"] == rolls["check pressed"] == rolls["check let go"] == "stopped"
    assert rolls["running"] == rolls["forward"] == "forward"
    assert rolls["reverse to reset"] == "reverse"


@pytest.mark.parametrize("name", demo_machines())
def test_each_step_says_what_the_rolls_do_and_from_where_they_are_seen(name: str) -> None:
    lamps = lamp_words(load_machine(name))
    said = {step: lamps.words(step)[0] for step in lamps.steps}
    assert said["armed"] == "Rolls: stopped."
    assert said["running"] == "Rolls, seen from out of reach: turn forward."
    assert said["check pressed"] == "Rolls, seen from out of reach: stopped."
    assert said["reverse to reset"] == "Rolls, seen from out of reach: turn in reverse."
    with speaking("de"):
        assert lamps.words("check pressed")[0] == ("Walzen, aus sicherer Entfernung: stehen.")


def test_a_circuit_that_stops_nothing_says_nothing_of_rolls() -> None:
    machine = load_machine("dunlin")
    found = lamp_words(machine)
    steps = {name: replace(step, rolls="") for name, step in found.steps.items()}
    assert not any("Rolls" in line for step in steps for line in Lamps(steps).words(step))


def test_lamps_beside_the_machine_are_not_looked_at_while_it_runs() -> None:
    for step in sound_steps(load_machine("whimbrel")):
        names = {sign.name for sign in step.signs}
        assert ("hold powered" in names) == (not step.running)
        assert ("hold powered" in step.not_seen) == step.running


def test_without_checks_every_step_of_the_circuit_is_told() -> None:
    machine = load_machine("dunlin")
    object.__setattr__(machine, "checks", None)
    found = sound_steps(machine)
    states = operate(machine)
    assert [step.step for step in found] == [state.step for state in states]
    for step, state in zip(found, states, strict=True):
        assert {sign.name: sign.word for sign in step.signs} == state.lamps
        assert step.rolls == state.rolls


def test_without_a_circuit_nothing_is_said(tmp_path: Path) -> None:
    path = tmp_path / "knot.toml"
    path.write_text('[machine]\nname = "Knot"\n', encoding="utf-8")
    with pytest.raises(NotKnownError, match="circuit"):
        sound_steps(load_machine(path))
