"""The unfinished machine in the session: kept, started over, taken back, sent twice, bent."""

from __future__ import annotations

import pytest

from tests.web.test_guided import (
    ADD,
    CHECK,
    FILE,
    OVER,
    QUESTIONS,
    SAID,
    START,
    added,
    draft,
    seen_in,
    setter,
    unproved,
)
from tripmargin.ground.units import DIMENSIONS
from tripmargin.machine.answering import answer_all
from tripmargin.machine.asking import Answers
from tripmargin.records.keeping.machines import add_demo_machine, add_machine, read_machine_file
from tripmargin.records.store.models import Machine, MachineVersion, VersionProof
from tripmargin.web.machines.guided_draft import StartForm
from tripmargin.web.machines.guided_page import read, sections

__all__ = ["setter", "unproved"]
SHEET = "type-trailed-electric.toml"


def test_it_is_added_proved_once_and_a_second_sending_leads_to_the_same_machine(setter):
    setter.post(FILE, {**START, **SAID})
    uid = draft(setter)["uid"]
    first = added(setter)
    machine = Machine.objects.get(name="Knot")
    assert first["Location"] == f"/machines/{machine.uid}/"
    assert VersionProof.objects.filter(version__machine=machine).count() == 1
    assert draft(setter) is None
    second = setter.post(ADD, {"uid": uid, "seen": "whatever"})
    assert second["Location"] == first["Location"]
    assert MachineVersion.objects.filter(machine=machine).count() == 1


def test_two_sendings_at_the_same_time_make_one_machine(setter, unproved):
    setter.post(FILE, {**START, **SAID})
    kept = draft(setter)
    added(setter)
    session = setter.session  # the other sending read the session before the first one wrote it
    session["guided_machine"] = kept
    del session["guided_machine_added"]
    session.save()
    again = setter.post(ADD, {"uid": kept["uid"], "seen": "whatever"})
    assert again["Location"] == f"/machines/{Machine.objects.get().uid}/"


def test_another_machine_of_that_name_in_the_meantime_loses_nothing(setter, unproved):
    setter.post(FILE, {**START, **SAID})
    add_machine(*read_machine_file(b'format = 1\n[machine]\nname = "Knot"', "knot.toml"))
    answer = setter.post(ADD, {"uid": draft(setter)["uid"], "seen": "whatever"})
    assert answer.status_code == 422
    assert "in the records already" in answer.content.decode()
    assert draft(setter)["said"] == SAID
    assert Machine.objects.count() == 1


def test_a_file_that_changed_since_it_was_looked_at_is_shown_again(setter, unproved):
    setter.post(FILE, {**START, **SAID})
    seen = seen_in(setter)
    setter.post(f"{CHECK}?field=feed.knives", {"feed.knives": "9"})  # in another tab
    again = setter.post(ADD, {"uid": "x", "seen": seen}, follow=True)
    assert "The answers changed" in again.content.decode()
    assert "knives = 9" in again.content.decode()
    assert Machine.objects.count() == 0


def test_a_machine_called_like_its_type_sheet_can_be_added(setter, unproved):
    add_demo_machine("curlew")
    start = {**START, "sheet": SHEET}
    setter.post(QUESTIONS, start)
    setter.post(FILE, {**start, "machine.name": SHEET.removesuffix(".toml")})
    assert added(setter).status_code == 302
    version = MachineVersion.objects.get(machine__name=SHEET.removesuffix(".toml"))
    assert version.file_name != SHEET
    assert f'extends = "{SHEET}"' in version.text


def test_a_page_that_lay_open_while_the_answers_were_dropped_brings_them_back(setter):
    session = setter.session
    del session["guided_machine"]
    session.save()
    start = {**START, "units": "us", "pawls": "left, right"}
    answer = setter.post(f"{CHECK}?field=feed.roll_width", {**start, "feed.roll_width": "28"})
    assert "Taken as 28 in" in answer.content.decode()
    assert draft(setter)["said"] == {"feed.roll_width": "28"}
    assert draft(setter)["pawls"] == "left, right"


def test_start_over_empties_the_page_and_can_be_taken_back(setter):
    setter.post(f"{CHECK}?field=feed.knives", {**START, **SAID})
    setter.post(OVER)
    assert draft(setter) is None
    page = setter.get(QUESTIONS).content.decode()
    assert "To the questions" in page
    assert "about “Knot”" in page
    setter.post(OVER, {"back": "1"})
    assert draft(setter)["said"] == SAID


def test_pawls_by_other_names_keep_what_was_said_of_them(setter):
    setter.post(f"{CHECK}?field=feed.knives", {**START, **SAID})
    setter.post(QUESTIONS, {**START, "pawls": "front, rear, <b>"})
    assert draft(setter)["said"]["chain.pawls.rear.clearance"] == "3 +- 1"
    page = setter.get(QUESTIONS).content.decode()
    assert 'name="chain.pawls.rear.clearance" value="3 +- 1"' in page
    assert "<b> pawl" not in page
    assert "chain.pawls.upper" not in page
    name = "chain.pawls.<b>.clearance"
    answer = setter.post(f"{CHECK}?field=chain.pawls.%3Cb%3E.clearance", {name: "4"})
    assert "Taken as 4 mm" in answer.content.decode()


def test_other_units_do_not_change_what_was_meant(setter):
    typed = {**SAID, "feed.slip": "much", "feed.roll_width": "28 in"}
    setter.post(f"{CHECK}?field=feed.knives", {**START, **typed})
    setter.post(QUESTIONS, {**START, "units": "us"})
    said = draft(setter)["said"]
    assert said["feed.roll_diameter"] == "330 mm +- 4 mm"
    assert said["feed.cut_lengths"] == "5 mm, 10 mm"
    assert said["feed.roll_width"] == "28 in"
    assert said["feed.knives"] == "8"
    assert said["machine.name"] == "Knot"
    assert said["feed.slip"] == "much"
    answer = setter.post(f"{CHECK}?field=feed.roll_width", {"feed.roll_width": "29"})
    assert "Taken as 29 in" in answer.content.decode()


@pytest.mark.parametrize(
    ("start", "words"),
    [
        ({"units": "furlongs"}, "not one of the available choices"),
        ({"units": ""}, "This field is required"),
        ({"sheet": "../../secret"}, "not one of the available choices"),
        ({"pawls": "a, a"}, "same name twice"),
        ({"pawls": ","}, "no name"),
        ({"pawls": "a.b"}, "may not be a number or hold a point"),
        ({"pawls": "x" * 201}, "at most 200 characters"),
        ({"pawls": ",".join("abcdefghij")}, "More than 8 pawls"),
        ({"pawls": "a\0b"}, "Null characters"),
    ],
)
def test_a_start_that_cannot_be_is_refused_beside_its_field(browser_as, start, words):
    client = browser_as(3)
    answer = client.post(QUESTIONS, {**START, **start})
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert draft(client) is None


@pytest.mark.parametrize(
    "kept",
    [
        7, "text", [], {}, {"said": {}}, {**START, "uid": "", "said": []},
        {**START, "uid": "", "said": {"feed.knives": 8}}, {**START, "uid": None, "said": {}},
        {**START, "uid": "", "said": {}, "sheet": "gone.toml"},
        {**START, "uid": "", "said": {}, "units": "furlongs"},
    ],
)  # fmt: skip
def test_a_draft_of_another_shape_leads_to_the_start(browser_as, kept):
    client = browser_as(3)
    client.get(QUESTIONS)
    session = client.session
    session["guided_machine"] = session["guided_machine_before"] = kept
    session.save()
    page = client.get(QUESTIONS)
    assert page.status_code == 200
    assert "To the questions" in page.content.decode()
    assert client.get(FILE).status_code == 302
    assert client.post(ADD, {}).status_code == 302
    assert client.post(f"{CHECK}?field=feed.knives", {"feed.knives": "8"}).status_code in (200, 409)
    assert client.post(OVER, {"back": "1"}).status_code == 302
    assert client.get(QUESTIONS).status_code == 200
    assert client.post(QUESTIONS, START).status_code == 302


@pytest.mark.parametrize("us", [False, True])
def test_each_example_of_a_tolerance_is_an_answer_that_stands(sqlite_records, us):
    answers = Answers(us=us)
    shown = [one for section in sections(answers, {}, {}) for one in section.asked]
    said = {one.name: one.tolerance for one in shown if one.tolerance}
    assert len(said) == 15
    assert read(answers, said) == {}
    assert len(answers.values) == len(said)
    for one in shown:
        if one.unit:
            kind = DIMENSIONS[one.question.spec.dimension]
            assert one.unit == (kind.us if us else kind.metric)


def test_a_type_sheet_is_read_from_the_records(sqlite_records):
    add_demo_machine("curlew")
    form = StartForm({**START, "sheet": SHEET})
    assert form.is_valid()
    assert form.answers is not None
    assert form.answers.sheet_has_pawls
    assert answer_all(form.answers, {"feed.knives": "6"}) == {}
