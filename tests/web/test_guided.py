"""Adding a machine question by question, without a browser."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from html import unescape
from typing import Any
from unittest.mock import patch

import pytest
from click.testing import CliRunner

from tripmargin.cli.main import main
from tripmargin.machine.asking import CAUTIONS, Answers
from tripmargin.records.keeping.machines import (
    add_demo_machine,
    add_machine,
    read_machine_file,
    sheets_in_force,
)
from tripmargin.records.store.models import Machine, MachineVersion
from tripmargin.web.machines import guided

QUESTIONS = "/machines/add/questions/"
CHECK, FILE, ADD, OVER = (f"{QUESTIONS}{part}/" for part in ("check", "file", "add", "over"))
START = {"units": "metric", "sheet": "", "pawls": "lower, upper"}
SAID = {
    "machine.name": "Knot",
    "feed.knives": "8",
    "feed.cutterhead_speed": "1000 +- 2 %",
    "feed.cut_lengths": "5, 10 mm",
    "feed.roll_diameter": "330 +- 4",
    "chain.pawls.upper.clearance": "3 +- 1",
    "limits.must_stop": "25 mm ball",
}

Fixture = Callable[..., Any]


@pytest.fixture
def unproved() -> Iterator[Any]:
    """Without the two seconds of a proof, where a test is about something else."""
    with patch.object(guided, "proof_of") as proof:
        yield proof


@pytest.fixture
def setter(browser_as: Fixture) -> Any:
    """A client that has made the start."""
    client = browser_as(3)
    assert client.post(QUESTIONS, START).status_code == 302
    return client


def draft(client: Any) -> Any:
    return client.session.get("guided_machine")


def trouble(page: str, name: str) -> str:
    """The trouble beside a field of the page."""
    box = page.split(f'name="{name}"')[1].split('class="asked')[0]
    found = re.search(r'class="trouble">(.*?)</p>', box, re.DOTALL)
    return unescape(found[1]) if found else ""


def seen_in(client: Any) -> str:
    """What the last look says was seen, which its own form sends."""
    found = re.search(r'name="seen" value="([^"]*)"', client.get(FILE).content.decode())
    assert found is not None
    return found[1]


def added(client: Any) -> Any:
    """Look at the file and add the machine as the page's own form does."""
    return client.post(ADD, {"uid": draft(client)["uid"], "seen": seen_in(client)})


def test_whoever_may_only_log_may_not_add_a_machine(browser_as):
    for role, status in ((0, 302), (1, 403), (2, 403), (3, 200)):
        assert browser_as(role).get(QUESTIONS).status_code == status
    for address in (QUESTIONS, CHECK, FILE, ADD, OVER):
        assert browser_as(2).post(address, START).status_code == 403
    for address in (CHECK, ADD, OVER):
        assert browser_as(3).get(address).status_code == 405


def test_the_start_comes_first_and_offers_the_type_sheets_of_the_records(browser_as):
    add_demo_machine("curlew")
    page = browser_as(3).get(QUESTIONS).content.decode()
    assert all(f'value="{sheet}"' in page for sheet in sheets_in_force())
    assert 'value="metric"' in page
    assert 'value="lower, upper"' in page
    assert browser_as(3).get(FILE).status_code == 302


def test_every_question_stands_on_the_page_with_all_that_machine_new_says_of_it(setter):
    page = unescape(setter.get(QUESTIONS).content.decode())
    assert page.index("First, each time") < page.index('name="machine.name"')
    for question in Answers().questions():
        assert f'name="{question.name}"' in page
        assert question.spec.measure in page
        assert question.allowed() in page
        if question.path[0] != "machine":
            assert f"If left out: {question.left_out()}." in page
    assert page.count("<svg") == 21
    ids = re.findall(r'\sid="([^"]+)"', page)
    assert len(ids) == len(set(ids))
    assert "style=" not in page


def test_what_is_read_running_says_how_nobody_is_near_it(setter):
    page = unescape(setter.get(QUESTIONS).content.decode())
    for name in ("feed.cutterhead_speed", "feed.slip", "detector.noise", "chain.supply"):
        own = page.split(f'name="{name}"')[0].rsplit('class="asked', 1)[1]
        assert "This is read while the machine runs: from the seat, or from outside" in own
    own = page.split('name="feed.roll_diameter"')[0].rsplit('class="asked', 1)[1]
    assert "while the machine runs" not in own


def test_a_list_that_was_refused_is_not_read_anew_when_the_units_change(setter):
    setter.post(f"{CHECK}?field=feed.cut_lengths", {**START, "feed.cut_lengths": "4,5; 8"})
    setter.post(QUESTIONS, {**START, "units": "us"})
    assert draft(setter)["said"] == {"feed.cut_lengths": "4,5; 8"}


def test_a_type_sheet_says_what_stands_without_an_answer(setter):
    add_demo_machine("curlew")
    setter.post(QUESTIONS, {**START, "sheet": "type-trailed-electric.toml"})
    page = unescape(setter.get(QUESTIONS).content.decode())
    assert "If left out: the type sheet's" in page


@pytest.mark.parametrize(
    ("name", "said", "taken"),
    [
        ("feed.roll_diameter", "330 +- 4", "330 mm +- 4 mm"),
        ("feed.roll_diameter", "13 in", "13 in"),
        ("feed.cut_lengths", "5; 8, 12", "5 mm, 8 mm, 12 mm"),
        ("chain.hold_winding.suppression", "zener 24", "zener 24 V"),
        ("machine.name", "Knöt 🚜", "Knöt 🚜"),
        ("machine.name", "<script>alert(1)</script>", "<script>alert(1)</script>"),
    ],
)
def test_a_good_answer_says_what_it_is_taken_as_and_is_kept(setter, name, said, taken):
    answer = setter.post(f"{CHECK}?field={name}", {name: said})
    assert answer.status_code == 200
    assert f"Taken as {taken}<" in unescape(answer.content.decode())
    assert "<script" not in answer.content.decode()
    assert draft(setter)["said"] == {name: said}


@pytest.mark.parametrize(
    ("name", "said", "words"),
    [
        ("feed.roll_diameter", "330,5", "If the comma is a decimal sign"),
        ("feed.roll_diameter", "330 kg", "a unit of mass, not of length"),
        ("feed.roll_diameter", "33", "too small"),
        ("feed.roll_diameter", "🚜", "not a number with a unit"),
        ("feed.roll_diameter", "<script>alert(1)</script>", "not a number with a unit"),
        ("feed.roll_diameter", "9" * 900, "more than 200 letters long"),
        ("feed.cut_lengths", "4,5; 8", "If the comma is a decimal sign"),
        ("feed.cut_lengths", "4,5", 'if it parts two lengths, write "4; 5"'),
        ("feed.knives", "4.5", "not a whole number"),
        ("chain.pawls.lower.ratchet_teeth", "many", "from 1 to 400"),
        ("chain.hold_winding.suppression", "rope", "diode 0.8 V"),
        ("limits.must_stop", "brick", "Allowed:"),
        ("machine.name", "a\0b", "cannot be printed"),
        ("machine.name", "x" * 101, "at most 100"),
    ],
)
def test_a_bad_answer_says_what_is_allowed_and_is_kept_all_the_same(setter, name, said, words):
    answer = setter.post(f"{CHECK}?field={name}", {name: said})
    text = unescape(answer.content.decode())
    assert answer.status_code == 200
    assert 'class="trouble"' in text
    assert words in text
    assert "Allowed" in text
    assert "<script" not in answer.content.decode()
    assert draft(setter)["said"] == {name: said}


def test_an_answer_too_long_to_keep_is_refused_and_stays_in_its_box(setter):
    huge = "7" * 100_000
    answer = setter.post(f"{CHECK}?field=feed.knives", {"feed.knives": huge})
    assert "100000 letters" in answer.content.decode()
    assert "Not kept" in answer.content.decode()
    assert draft(setter)["said"] == {}
    page = setter.post(FILE, {**START, **SAID, "feed.knives": huge})
    assert page.status_code == 422
    assert huge in page.content.decode()


def test_a_field_that_nobody_asks_is_not_found(setter):
    assert setter.post(f"{CHECK}?field=feed.nonsense", {}).status_code == 404


def test_all_mistakes_come_at_once_beside_their_fields_and_nothing_typed_is_lost(setter):
    bad = {**SAID, "feed.slip": "much", "chain.supply": "12 mm", "machine.name": " "}
    answer = setter.post(FILE, {**START, **bad})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "3 answers cannot stand" in page
    assert "needs a name" in trouble(page, "machine.name")
    assert "“much”" in trouble(page, "feed.slip")
    assert "unit of length, not of voltage" in trouble(page, "chain.supply")
    assert trouble(page, "feed.knives") == ""
    for name, said in bad.items():
        assert f'name="{name}" value="{said}"' in page
    assert draft(setter)["said"] == {k: v for k, v in bad.items() if v.strip()}
    assert Machine.objects.count() == 0


def test_a_name_that_is_taken_is_refused_beside_its_field_before_anything_else_is_done(setter):
    add_machine(*read_machine_file(b'format = 1\n[machine]\nname = "Knot"', "knot.toml"))
    assert (
        "in the records already"
        in setter.post(f"{CHECK}?field=machine.name", {"machine.name": "Knot"}).content.decode()
    )
    answer = setter.post(FILE, {**START, **SAID})
    assert answer.status_code == 422
    assert "in the records already" in trouble(answer.content.decode(), "machine.name")


def test_the_last_look_shows_the_file_and_what_is_assumed(setter):
    answer = setter.post(FILE, {**START, **SAID}, follow=True)
    page = unescape(answer.content.decode())
    assert 'roll_diameter = "330 mm +- 4 mm"' in page
    assert "<dt>Clearance, lower pawl " in page  # the trade's name, then the file's
    assert re.search(r">feed.crop_depth</span></dt>\s*<dd>5 mm .. 110 mm</dd>", page)
    assert re.search(r">chain.pawls.lower.clearance</span></dt>\s*<dd>2 mm .. 8 mm</dd>", page)
    assert ">chain.pawls.upper.clearance</span></dt>" not in page
    assert ">feed.roll_width</span></li>" in page
    assert ">feed.knives</span></li>" not in page
    assert Machine.objects.count() == 0


def test_the_file_is_what_machine_new_writes_for_the_same_answers(setter, unproved, tmp_path):
    setter.post(FILE, {**START, **SAID})
    assert added(setter).status_code == 302
    typed = ["metric", "", "lower, upper"]
    typed += [SAID.get(q.name, "") for q in Answers().questions()]
    path = tmp_path / "knot.toml"
    result = CliRunner().invoke(main, ["machine", "new", str(path)], input="\n".join(typed) + "\n")
    assert result.exit_code == 0, result.output
    assert CAUTIONS[:30] in result.output
    version = MachineVersion.objects.get(machine__name="Knot")
    assert version.text == path.read_text(encoding="utf-8")
    _, loaded = read_machine_file(version.text.encode(), version.file_name)
    assert loaded.get("feed.roll_diameter").text == "330 mm +- 4 mm"
    assert version.added_by.name == "role 3"


def test_answers_typed_in_german_become_a_file_that_all_can_read(setter, unproved):
    header = {"HTTP_ACCEPT_LANGUAGE": "de-DE"}
    typed = {
        "machine.name": "Kiebitz",
        "feed.cutterhead_speed": "1000 U/min +- 2,5 %",
        "feed.cut_lengths": "5,5; 8; 12,5",
        "feed.roll_diameter": "330,5 +- 4",
        "chain.hold_winding.suppression": "Widerstand 82 Ohm",
        "limits.must_stop": "Kugel 22,5 mm",
    }
    taken = setter.post(f"{CHECK}?field=feed.roll_diameter", {**START, **typed}, **header)
    assert "Verstanden als 330,5 mm +- 4 mm" in unescape(taken.content.decode())
    page = unescape(setter.get(QUESTIONS, **header).content.decode())
    for shown in ("1000 1/min +- 2,5 %", "5,5; 8; 12,5", "Widerstand 82 Ω", "Kugel 22,5 mm"):
        assert f'value="{shown}"' in page
    assert 'value="330.5 +- 4"' in unescape(setter.get(QUESTIONS).content.decode())  # in English
    last = setter.post(FILE, {**START, **typed}, follow=True, **header)
    seen = re.findall(r'name="seen" value="([^"]+)"', last.content.decode())[0]
    looked = unescape(last.content.decode())
    assert "<dd>3,5 mm</dd>" in looked  # assumed, as people read it
    assert "Abfallzeit des Ankers" in looked
    added = setter.post(ADD, {"uid": draft(setter)["uid"], "seen": seen}, **header)
    assert added.status_code == 302
    text = MachineVersion.objects.get().text
    for written in (
        'cutterhead_speed = "1000 rpm +- 2.5 %"', 'cut_lengths = ["5.5 mm", "8 mm", "12.5 mm"]',
        'roll_diameter = "330.5 mm +- 4 mm"', 'must_stop = "22.5 mm ball"',
        'suppression = { kind = "resistor", resistance = "82 ohm" }',
    ):  # fmt: skip
        assert written in text


def test_an_answer_refused_in_german_comes_back_as_typed(setter):
    header = {"HTTP_ACCEPT_LANGUAGE": "de-DE"}
    typed = {"machine.name": "Kiebitz", "feed.roll_diameter": "1.234,5", "feed.slip": "3,5 x"}
    answer = setter.post(FILE, {**START, **typed}, **header)
    page = unescape(answer.content.decode())
    assert answer.status_code == 422
    assert 'value="1.234,5"' in page
    assert 'value="3,5 x"' in page
    assert "Ändern in 1234,5" in page
    assert "Erlaubt: Anteil, geschrieben wie „3 %“, von -20 % bis 90 %." in page
