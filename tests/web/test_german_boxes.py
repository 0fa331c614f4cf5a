"""What a German types into the boxes of the log, of measuring and of setting, and reads in them."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from html import unescape
from typing import Any
from uuid import uuid4

import pytest

from tests.records.standing_help import new_machine
from tests.web.setting_help import STOP_ALONE, at, beside, fields, words
from tripmargin.ground.languages import speaking
from tripmargin.records.keeping.machines import add_demo_machine, add_version, read_machine_file
from tripmargin.records.keeping.owned_pieces import owned_names
from tripmargin.records.store.models import Entry, Machine
from tripmargin.web.measuring.numbers import Number
from tripmargin.web.setting.lengths import LengthBox, in_box

Make = Callable[..., Any]
REFUSED = 422


class German:
    """A client whose browser asks for German."""

    def __init__(self, client: Any) -> None:
        self.client = client

    def get(self, address: str, said: Any = None) -> Any:
        return self.client.get(address, said, headers={"accept-language": "de-DE"})

    def post(self, address: str, said: Any) -> Any:
        return self.client.post(address, said, headers={"accept-language": "de-DE"})


@pytest.fixture
def german(browser_as: Make) -> German:
    return German(browser_as(3))


@pytest.fixture
def curlew(sqlite_records: str) -> Machine:
    return add_demo_machine("curlew", who_name="Ann")


@contextmanager
def one_entry_more() -> Iterator[list[Entry]]:
    before, found = set(Entry.objects.values_list("pk", flat=True)), []
    yield found
    found += Entry.objects.exclude(pk__in=before)
    assert len(found) == 1


def form(**values: str) -> dict[str, str]:
    made = {"uid": str(uuid4()), "at": "2026-01-02T10:30", "zone": "0", "note": ""}
    return made | {f"v.{key}": value for key, value in values.items()}


def new(machine: Machine, kind: str) -> str:
    return f"/machines/{machine.uid}/log/new/{kind}/"


def box(html: str, name: str) -> str:
    """What stands in a box."""
    found = re.search(rf'<input[^>]*name="{re.escape(name)}" value="([^"]*)"', html)
    assert found is not None, name
    return unescape(found[1])


@pytest.mark.parametrize("sign", [",", "."])
def test_gaps_are_kept_whichever_decimal_sign_is_typed(
    german: German, curlew: Machine, sign: str
) -> None:
    said = {"gap_after_m/lower": "3.5", "gap_after_m/upper": "3.6 mm", "turns/lower": "1.5",
            "hours_s": "1240.5 Std."}  # fmt: skip
    with one_entry_more() as found:
        answer = german.post(
            new(curlew, "adjustment"),
            form(**{key: text.replace("0.5 S", f"0{sign}5 S").replace("3.", f"3{sign}")
                    .replace("1.5", f"1{sign}5") for key, text in said.items()}),
        )  # fmt: skip
        assert answer.status_code == 302
    assert found[0].values == {
        "gap_after_m/lower": pytest.approx(0.0035),
        "gap_after_m/upper": pytest.approx(0.0036),
        "turns/lower": 1.5,
        "hours_s": pytest.approx(1240.5 * 3600),
    }


def test_what_is_refused_comes_back_as_typed_with_german_numbers_beside_it(
    german: German, curlew: Machine
) -> None:
    said = form(
        **{"gap_after_m/lower": "44,5", "gap_after_m/upper": "1.234,5", "hours_s": "1240,5"}
    )
    answer = german.post(new(curlew, "adjustment"), said)
    html = unescape(answer.content.decode())
    assert answer.status_code == REFUSED
    assert Entry.objects.count() == 0
    for key in ("gap_after_m/lower", "gap_after_m/upper", "hours_s"):
        assert box(html, f"v.{key}") == said[f"v.{key}"]
    assert "Erlaubt: eine Zahl mit Einheit, etwa „3,8 mm“, von 0 mm bis 30 mm." in html
    assert 'value="1234.5"' in html  # two signs in one number: asked about
    assert "Ändern in 1234,5" in html


def test_a_correction_shows_commas_and_leaves_untouched_what_is_untouched(
    german: German, curlew: Machine
) -> None:
    piece = {"across_m": "-120,25", "height_m": "40", "speed_m_s": "2,85", "caught": "yes"}
    german.post(new(curlew, "test-pass"), form(piece="Schraube M8x30 längs", **piece))
    first = Entry.objects.get()
    assert first.values["piece"] == "M8x30 bolt along"  # as every reader's language has it
    html = german.get(f"/entries/{first.uid}/correct/").content.decode()
    assert box(html, "v.piece") == "Schraube M8x30, längs"
    assert box(html, "v.across_m") == "-120,25"
    again = {key: box(html, f"v.{key}") for key in ("piece", "across_m", "speed_m_s")}
    with one_entry_more() as found:
        german.post(f"/entries/{first.uid}/correct/", form(height_m="41,5", caught="yes", **again))
    assert found[0].values == first.values | {"height_m": pytest.approx(0.0415)}


def test_a_piece_that_is_none_is_refused_with_german_examples(
    german: German, curlew: Machine
) -> None:
    where = {"across_m": "0", "height_m": "40", "speed_m_s": "2,85", "caught": "no"}
    answer = german.post(new(curlew, "test-pass"), form(piece="Schraube M8x30", **where))
    html = unescape(answer.content.decode())
    assert answer.status_code == REFUSED
    assert box(html, "v.piece") == "Schraube M8x30"
    assert "„Schraube M8x30 längs“, „quer“ oder „aufrecht“" in html


def test_the_yards_pieces_are_added_in_german(german: German, curlew: Machine) -> None:
    address = f"/machines/{curlew.uid}/measure/pieces/"
    for typed in ("Kugel 22,5 mm", "Rundstab 8,5 mm x 60 mm, quer"):
        assert german.post(address, {"add": typed}).status_code == 302
    assert owned_names() == ("22.5 mm ball", "8.5 mm x 60 mm rod across")
    wrong = german.post(address, {"add": "Zange"})
    html = unescape(wrong.content.decode())
    assert wrong.status_code == REFUSED
    assert "„Zange“: „zange“ wird nicht verstanden." in html
    bare = unescape(german.post(address, {"add": "12,5"}).content.decode())
    assert 'value="12.5 mm ball"' in bare
    assert "Ändern in Kugel 12,5 mm" in bare


def test_a_machine_is_turned_with_a_german_piece(german: German, curlew: Machine) -> None:
    page = f"/machines/{curlew.uid}/"
    html = german.get(page).content.decode()
    assert 'value="Kugel 20 mm"' in html
    assert '<option value="Schraube M8x30">' in html
    assert "In der Datei: 3,4 mm +- 0,4 mm" in unescape(html)
    wrong = unescape(german.get(page, {"piece": "Zange 30,5 mm"}).content.decode())
    assert 'value="Zange 30,5 mm"' in wrong
    address_handed_on = german.client.get(page, {"piece": "Schraube M8x30"})  # in English
    assert 'value="M8x30 bolt"' in address_handed_on.content.decode()
    turned = german.get(f"{page}turned/", {"piece": "Kugel 12,5 mm", "step": "let-go"})
    assert "Kugel 12,5 mm bei" in unescape(turned.content.decode())


def test_pawls_are_set_with_commas_step_by_step(german: German, sqlite_records: str) -> None:
    knot = new_machine(STOP_ALONE.replace("Knot", "{name}"))
    found = {"gap.lower": "6,2", "gap.upper": "4,1", "feeler": "0,05", "unit": "mm", "do": "plan"}
    wrong = german.get(at(knot), found | {"gap.upper": "4,1x"})
    assert wrong.status_code == REFUSED
    assert fields(wrong)["gap.upper"] == ["4,1x"]
    assert "Erlaubt: eine Zahl, oder eine mit Einheit wie „1,2 mm“" in beside(wrong, "gap1")
    page = german.get(at(knot), found)
    assert page.status_code == 200
    assert "Vorgefunden: unten 6,2 mm, oben 4,1 mm." in words(page)
    low, high = (1e3 * float(end) for end in fields(page)["expected"][0].split(";"))
    gap = f"{(low + high) / 2:.2f}".replace(".", ",")
    after = german.get(at(knot), {**fields(page), "reading": gap, "do": "next"})
    assert f"{gap.rstrip('0').rstrip(',')} mm gelesen." in words(after)
    back = german.get(at(knot), {**fields(after), "do": "back"})
    assert fields(back)["reading"] == [gap.rstrip("0").rstrip(",")]


def test_a_clevis_is_turned_in_or_out_in_german(german: German, curlew: Machine) -> None:
    page = german.get(at(curlew), {"gap.lower": "6,2", "gap.upper": "5,1", "do": "plan"})
    assert "Gabelkopf um 2 Umdrehungen hineindrehen" in words(page)


def test_boxes_read_and_show_german_numbers() -> None:
    number = Number("at", "Schwelle", "V", 0.5, 1000.0, "1,25")
    gap = LengthBox("gap", "gap", "Abstand", "mm", 10e-6, 0.03, "0,5 Zoll")
    with speaking("de"):
        assert number.read() == 1.25
        assert gap.read() == pytest.approx(0.0127)
        assert number.mends == gap.mends == ()
        assert in_box(0.0062, "mm") == "6,2"
    assert Number("at", "Threshold", "V", 0.5, 1000.0, "1,25").read() is None  # asked about
    twice = Number("at", "Threshold", "V", 0.5, 1000.0, "1,2,5")  # no number at all
    assert twice.read() is None
    assert "Not a number: “1,2,5”.\nAllowed: from 0.5 V to 1 000 V." in twice.troubles


def test_measured_gaps_stand_beside_the_files_with_commas(german: German, curlew: Machine) -> None:
    german.post(
        new(curlew, "adjustment"),
        form(**{"gap_after_m/lower": "3,8", "feeler_m": "0,05"}) | {"at": ""},
    )
    page = words(german.get(f"/machines/{curlew.uid}/gaps/"))
    assert "3,4 mm +- 0,4 mm" in page
    assert not re.search(r"\d\.\d+ mm", page)


def test_a_drift_is_typed_and_shown_with_a_comma(german: German, curlew: Machine) -> None:
    version = curlew.versions.get()
    text = version.text + (
        '\n[[measured.fields]]\nfield = "feed.sensor_to_shear_bar"\non = "2026-01-02"\n'
        'by = "Ann"\nhow = "tape"\ndrift = "2.5 %"\n'
    )
    add_version(curlew, *read_machine_file(text.encode(), "curlew.toml"), file_name="curlew.toml")
    page = words(german.get(f"/machines/{curlew.uid}/file/"))
    assert "2,5 % im Jahr" in page
    assert "2.5 % im Jahr" not in page


def test_what_a_page_puts_into_a_form_is_sent_as_any_language_reads_it(
    german: German, curlew: Machine
) -> None:
    html = unescape(german.get(f"/machines/{curlew.uid}/measure/learned/").content.decode())
    hidden = dict(re.findall(r'<input type="hidden" name="(v\.[^"]+)" value="([^"]*)"', html))
    assert hidden["v.piece"].endswith("mm ball")
    assert not any("," in text for text in hidden.values())
    asked = {key.removeprefix("v."): text for key, text in hidden.items()} | {"across_m": "-163.5"}
    form_of = german.get(new(curlew, "test-pass"), asked).content.decode()
    assert box(form_of, "v.piece").startswith("Kugel ")
    assert box(form_of, "v.across_m") == "-163,5"


def test_what_the_type_sheet_says_is_said_in_german(german: German, curlew: Machine) -> None:
    answer = german.client.get(
        f"/machines/{curlew.uid}/questions/", follow=True, headers={"accept-language": "de"}
    )
    page = words(answer)
    assert "Ohne Antwort: Kugel 20 mm, wie im Typenblatt." in page
    assert "In der Datei, Version 1: 3,4 mm +- 0,4 mm" in page
    assert not re.search(r"\d\.\d+ (mm|V|%)", page)
