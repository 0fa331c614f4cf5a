"""What the commissioning report says is what the rooms say."""

from datetime import UTC, date, datetime

import pytest

from tests.reports.paper.conftest import MADE, pages_of, text_of
from tripmargin.machine import digest_of, load_machine
from tripmargin.machine.showing import rows
from tripmargin.pictures.answers import place_words
from tripmargin.protection import prove, race
from tripmargin.reports.paper.by_log import ByLog
from tripmargin.reports.paper.commissioning import Trial, commissioning_report
from tripmargin.reports.paper.document import Table
from tripmargin.reports.paper.typesetting import pdf_of
from tripmargin.sensing import Piece


def test_its_numbers_are_those_of_the_proof_and_the_race(commissioning):
    machine = load_machine("whimbrel")
    data = commissioning.to_dict()["data"]
    assert data["proof"] == prove(machine, on=date(2026, 11, 29)).to_dict()
    run = race(machine, cut_length=0.028, piece=Piece.from_text("20 mm ball"))
    assert data["race"] == run.to_dict()
    assert data["machine_digest"] == digest_of(machine)


def test_verdict_and_reasons_stand_on_paper(commissioning, commissioning_pdf):
    proof, text = prove(load_machine("whimbrel"), on=date(2026, 11, 29)), text_of(commissioning_pdf)
    assert "Whimbrel: doubtful" in text
    for reason in proof.because:
        assert " ".join(reason.split()) in text


@pytest.mark.parametrize("name", ["whimbrel", "dunlin"])
def test_every_setting_that_the_verdict_needs_stands_with_its_source(name):
    machine = load_machine(name)
    document = commissioning_report(machine, made=MADE)
    printed = {
        (row[0], row[2]): row[3]
        for table in document.blocks
        if isinstance(table, Table) and len(table.headers) == 4
        for row in table.rows
    }
    sections = ("feed", "sensor", "detector", "chain", "limits")
    for row in rows(machine):
        if row.section in sections:
            value = row.value.replace("+-", "\N{PLUS-MINUS SIGN}")
            assert printed[(row.field, value)].startswith("assumed" if row.assumed else "file")


def test_what_is_assumed_is_said_twice(tmp_path):
    from tests.machine.files import SMALL, written

    machine = load_machine(written(tmp_path, SMALL))
    assert machine.assumed
    document = commissioning_report(machine, made=MADE)
    text = text_of(pdf_of(document))
    for field in machine.assumed:
        assert "".join(field.split()) in "".join(text.split())


def test_a_machine_that_says_too_little_is_not_known(tmp_path):
    path = tmp_path / "bare.toml"
    path.write_text('format = 1\n[machine]\nname = "Bare"\n', "utf-8")
    text = text_of(pdf_of(commissioning_report(load_machine(path), made=MADE)))
    assert "Bare: not known" in text
    assert "feed.cut_lengths" in text
    assert "not say enough for the race" in text


def test_both_margins_say_for_which_places_they_are(commissioning, commissioning_pdf):
    text = text_of(commissioning_pdf)
    assert "over all places and heights. A race is for one place, so its margin differs." in text
    at = place_words(commissioning.data["race"], us=False)
    assert at.startswith("x ")
    assert f"This race is for metal at one place: {at}." in text


def test_the_cut_in_use_is_the_one_named():
    document = commissioning_report(load_machine("whimbrel"), made=MADE, cut_length=0.008)
    assert document.data["race"].cut_length == 0.008
    assert "Cut in use: 8 mm." in text_of(pdf_of(document))


def test_us_units_are_used_and_the_file_is_quoted_as_written():
    text = text_of(pdf_of(commissioning_report(load_machine("whimbrel"), made=MADE, us=True)))
    assert "1.1 in doubtful" in text
    assert "28 mm doubtful" not in text
    assert "file: 1200 rpm \N{PLUS-MINUS SIGN} 2 %" in text or "file: 5 mm, 8 mm" in text


def test_tests_from_a_log_are_printed_and_blank_lines_stand_without(commissioning_pdf):
    assert "Write in what was made." in text_of(commissioning_pdf)
    trial = Trial(datetime(2026, 5, 3, 8, 0, tzinfo=UTC), "Stop time", "Stop time: 48 ms", "Ida")
    document = commissioning_report(load_machine("whimbrel"), made=MADE, tests=[trial])
    text = text_of(pdf_of(document))
    assert "2026-05-03 Stop time Stop time: 48 ms Ida" in text
    assert "Write in what was made." not in text
    assert document.to_dict()["data"]["tests"] == [trial.to_dict()]


@pytest.mark.parametrize(
    ("state", "word"),
    [("not", "Whimbrel: not protected, by its log. Mend first."),
     ("doubtful", "Whimbrel: doubtful, by its log")],
)  # fmt: skip
def test_what_the_log_has_against_it_stands_before_the_calculation(state, word):
    # Our own rule (records.standing.state): protected needs the calculation and the log.
    by_log = ByLog(state, ("The check of 2026-11-20 failed: it did not trip.",))
    document = commissioning_report(load_machine("whimbrel"), made=MADE, by_log=by_log)
    first = " ".join(pages_of(pdf_of(document))[0].get_text().split())
    assert first.index("Before anything is touched") < first.index(word)
    assert first.index(by_log.reasons[0]) < first.index("Is this machine protected?")
    assert "does not count" in first
    assert "Whimbrel: doubtful, by calculation alone" in first
    assert document.to_dict()["data"]["by_log"] == by_log.to_dict()


def test_a_log_that_has_nothing_against_it_says_nothing_before():
    by_log = ByLog("protected", ("The check passed 2 h ago.",))
    text = text_of(pdf_of(commissioning_report(load_machine("whimbrel"), made=MADE, by_log=by_log)))
    assert "by its log" not in text
    assert "by calculation alone" not in text
