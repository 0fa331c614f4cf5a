"""Machine files of other shapes than the demos': answered, or refused with the field that lacks."""

from __future__ import annotations

import copy
import tomllib

import pytest

from tests.reference import ROOT
from tripmargin.faultfinding import Case, chart, coverage, fmea, machine_problem
from tripmargin.ground.errors import MachineFileError, NotKnownError
from tripmargin.machine import Machine
from tripmargin.machine.files import Sheet
from tripmargin.machine.loading import machine_from

TRAILED = tomllib.loads(
    (ROOT / "src/tripmargin/machine/demo/type-trailed-mechanical.toml").read_text(encoding="utf-8")
)
LAMP_ALONE = """
format = 1
[machine]
name = "Lamp alone"
[circuit.parts]
battery = { kind = "battery", between = ["30", "0"] }
F1 = { kind = "fuse", between = ["30", "15"], rating = "5 A" }
key = { kind = "switch", between = ["15", "a"] }
H = { kind = "lamp", between = ["a", "0"], power = "3 W", proves = "the key is on" }
[[circuit.steps]]
name = "off"
switches = { key = "off" }
[[circuit.steps]]
name = "on"
switches = { key = "on" }
[checks]
daily = "look"
worked = ["off", "on"]
[checks.states]
rest = { steps = ["off"] }
live = { after = "rest", steps = ["on"] }
[checks.paths]
look = { states = ["live"] }
"""


def machine(tables: dict) -> Machine:
    return machine_from((Sheet("strange.toml", b"", copy.deepcopy(tables)),), "strange.toml")


def test_a_test_piece_without_a_feed_says_which_field_lacks():
    with pytest.raises(NotKnownError) as caught:
        machine_problem(machine({k: v for k, v in TRAILED.items() if k != "feed"}))
    assert caught.value.needs == ("feed.cut_lengths",)


def test_a_machine_of_one_lamp_is_asked_about_charted_and_proved():
    of = machine_problem(machine(tomllib.loads(LAMP_ALONE)))
    assert {each.question.subject for each in of.looks} == {"H"}
    for what in (chart, coverage, fmea):
        assert what(of).to_dict()
    blown = next(k for k, each in enumerate(of.hypotheses) if each.id == "H:open")
    case = Case(of, complaint="lamp or buzzer wrong")
    for _ in range(20):
        (card,) = case.next_checks(1)
        if card.kind == "look":
            look = next(each for each in of.looks if each.question.id == card.id)
            case.record(card.id, look.question.words[look.answers[blown]])
        elif card.id == "mend H":
            case.record(card.id, "passed")
            break
        else:
            case.record(card.id, "failed")
    assert case.entries[-1]["repair"] == "mend H"


@pytest.mark.parametrize("name", ["rolls", "plunger"])
def test_a_lamp_named_like_a_movement_is_refused_with_its_place(name):
    # Cards are told apart by what is looked at: "box armed: rolls" would be two of them.
    text = LAMP_ALONE.replace("H = {", f"{name} = {{")
    with pytest.raises(MachineFileError, match=f"circuit.parts.{name}: a lamp or a buzzer has"):
        machine_problem(machine(tomllib.loads(text)))
