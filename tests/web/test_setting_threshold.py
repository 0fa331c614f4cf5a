"""Setting the threshold in the browser: the curve, a point picked on it, a version kept."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape
from typing import Any
from uuid import uuid4

import pytest

from tests.records.standing_help import NOW, new_machine, write
from tests.web.recordings import NOISE_FLOOR
from tests.web.test_measuring_noise import at as noise_at
from tests.web.test_measuring_noise import quiet_csv, sent
from tests.web.test_measuring_stop import boxes
from tripmargin.protection.setting.threshold_words import CAUTIONS
from tripmargin.records.keeping.entries import newest_version
from tripmargin.records.keeping.machines import add_demo_machine, machine_of
from tripmargin.records.store.models import Entry, Machine
from tripmargin.web.setting.noise_noted import noise_of_note, noted_noise

Client = Callable[..., Any]


@pytest.fixture
def curlew(sqlite_records: str) -> Machine:
    return add_demo_machine("curlew", who_name="Ann")


def at(machine: Machine, more: str = "") -> str:
    return f"/machines/{machine.uid}/set/threshold/{more}"


def words(answer: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", unescape(answer.content.decode()))).strip()


def beside(answer: Any, box: str) -> str:
    html = answer.content.decode().partition(f'id="{box}-trouble"')[2].partition("</div>")[0]
    return unescape(re.sub(r"<[^>]*>", "", html))


def changes(answer: Any) -> dict[str, tuple[str, str]]:
    """What a threshold changes: name to today and then."""
    html = unescape(answer.content.decode()).partition('aria-label="What changes"')[2]
    rows = re.findall(r'row">(.*?)</th><td>(.*?)</td><td><strong>(.*?)</strong>', html)
    return {name: (was, then) for name, was, then in rows}


def test_cautions_first_then_the_curve_a_moment_later(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(1)
    page = unescape(client.get(at(curlew)).content.decode())
    assert all(page.index(caution) < page.index('id="curve"') for caution in CAUTIONS)
    assert "The module itself is set as its own manual says" in page
    whole = client.get(at(curlew), {"show": "1"})
    html = whole.content.decode()
    assert html.count("<svg") == 1
    assert " style=" not in html
    assert "Today's 1.5 V may stay" in words(whole)
    assert "With the noise that the machine's file gives: the log has no quiet run." in words(whole)
    part = client.get(at(curlew), {"show": "1"}, headers={"HX-Request": "true"})
    assert b"<html" not in part.content
    # Worked out once, it comes with the page.
    assert b"<svg" in client.get(at(curlew)).content


def test_a_picked_threshold_says_what_it_changes(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(3)
    page = client.get(at(curlew), {"at": "1.2", "show": "1"})
    said = changes(page)
    assert said["Threshold"] == ("1.5 V", "1.2 V")
    balls = [float(said[f"Smallest ball seen, {sure}"][1].split()[0])
             for sure in ("50 %", "99 %", "99.9 %")]  # fmt: skip
    assert balls == sorted(balls)
    assert balls[0] < balls[1] < balls[2]
    was, then = (float(one.split()[0]) for one in said["Smallest ball seen, 99 %"])
    assert then < was  # a lower threshold sees smaller metal
    assert "5 mm Stop" in words(page)  # each cut, with its limits
    assert f'href="{at(curlew, "keep/")}?at=1.2"' in page.content.decode()
    same = client.get(at(curlew), {"at": "1.5"})
    assert "it changes nothing" in words(same)
    assert b"keep it" not in browser_as(2).get(at(curlew), {"at": "1.2"}).content


def test_more_false_trips_put_up_with_move_the_range(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(1)

    def lowest(hours: str) -> float:
        page = words(client.get(at(curlew), {"hours": hours, "show": "1"}))
        return float(re.findall(r"Below ([\d.]+) V noise alone", page)[0])

    assert lowest("1") < lowest("10000")


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("at", "-1", "Out of range"),
        ("at", "0", "Out of range"),
        ("at", "1,2", "A comma inside a number"),
        ("at", "high", "Not a number"),
        ("at", "🙂", "Not a number"),
        ("at", "<script>alert(1)</script>", "Not a number"),
        ("at", "9" * 400, "Out of range"),
        ("hours", "0", "Out of range"),
        ("hours", "1e9", "Not a number"),
    ],
)
def test_a_mistake_stands_beside_its_box(
    curlew: Machine, browser_as: Client, name: str, text: str, said: str
) -> None:
    answer = browser_as(1).get(at(curlew), {"hours": "50", "at": "1.1", name: text})
    assert answer.status_code == 422
    assert said in beside(answer, name)
    assert boxes(answer.content.decode())[name] == text
    assert b"<script>alert" not in answer.content


def test_a_comma_is_mended_in_the_address(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(1)
    wrong = client.get(at(curlew), {"at": "1,2"})
    assert 'name="mend.at" value="1.2"' in wrong.content.decode()
    right = client.get(at(curlew), {"at": "1,2", "mend.at": "1.2", "show": "1"})
    assert changes(right)["Threshold"] == ("1.5 V", "1.2 V")


def test_the_noise_of_the_log_is_used_and_can_be_left(
    curlew: Machine, browser_as: Client, tmp_path: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TRIPMARGIN_HOME", str(tmp_path / "yard"))
    client = browser_as(2)
    address = sent(client, curlew, quiet_csv())
    assert address.startswith(noise_at(curlew))
    form = {**boxes(client.get(address).content.decode()), "uid": str(uuid4()), "do": "keep"}
    assert client.post(address, form).status_code == 302
    noted = noted_noise(curlew)
    assert noted is not None
    # The rms that was put into the made-up run, and the peak of its cosine of 0.2 V.
    assert noted.floor[0] < NOISE_FLOOR < noted.floor[2]
    assert float(noted.settings["detector.ripple"].split()[0]) == pytest.approx(0.2, rel=0.05)
    measured = client.get(at(curlew), {"show": "1"})
    assert "With the noise of a quiet run: the note of" in words(measured)
    filed = client.get(at(curlew), {"noise": "file", "show": "1"})
    low = [float(re.findall(r"[Bb]elow ([\d.]+) V noise alone", words(one))[0])
           for one in (measured, filed)]  # fmt: skip
    assert low[0] > low[1] + 0.1  # 0.2 V that turns with the roll lift the lower end
    wrong = client.get(at(curlew), {"noise": "rumour"})
    assert wrong.status_code == 422
    assert "Not among the choices: “rumour”" in beside(wrong, "noise")


@pytest.mark.parametrize(
    "text",
    ["", "Noise floor, rms: loud.", "Noise floor, rms: 70 mV.",
     "Noise floor, rms: 70 mV (80 mV to 90 mV).", "Noise floor, rms: 1.2.3 mV (1 mV to 2 mV).",
     "Noise floor, rms: 9e9 mV (8e9 mV to 9e9 mV)."],
)  # fmt: skip
def test_a_note_that_says_no_noise(text: str) -> None:
    assert noise_of_note(text) is None


def test_a_note_of_a_persons_own_is_no_measurement(curlew: Machine) -> None:
    text = "Noise of a quiet run\nNoise floor, rms: 70 mV (69 mV to 71 mV)."
    write(curlew, "note", {"text": text}, NOW)
    assert noted_noise(curlew) is None
    write(curlew, "note", {"text": text}, NOW, note="From run.csv, SHA-256 12.")
    found = noted_noise(curlew)
    assert found is not None
    assert found.settings == {"detector.noise": "0.07 V +- 0.001 V"}


def test_kept_as_a_version_once(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(3)
    page = client.get(at(curlew, "keep/"), {"at": "1.2"})
    assert "Set the module first, as its own manual says" in words(page)
    assert "+ threshold = " in words(page)
    assert curlew.versions.count() == 1
    form = {"at": "1.2", "version": "1", "note": "Set at the module."}
    empty = client.post(at(curlew, "keep/"), {**form, "note": ""})
    assert empty.status_code == 422
    assert boxes(empty.content.decode())["at"] == "1.2"
    answer = client.post(at(curlew, "keep/"), form)
    assert answer.status_code == 302
    assert curlew.versions.count() == 2
    version = newest_version(curlew)
    assert version is not None
    threshold = machine_of(version).get("detector.threshold")
    assert threshold is not None
    assert threshold.nominal == pytest.approx(1.2)
    assert client.post(at(curlew, "keep/"), form).status_code == 302  # sent twice, kept once
    assert curlew.versions.count() == 2
    late = client.post(at(curlew, "keep/"), {**form, "at": "1.1"})
    assert late.status_code == 422
    assert "Another version came into force meanwhile" in words(late)
    assert curlew.versions.count() == 2
    assert Entry.objects.count() == 0


@pytest.mark.parametrize("text", ["", "0", "-2", "1,2", "🙂", "<script>", "1e400", "9" * 400])
def test_nothing_is_kept_of_what_is_no_threshold(
    curlew: Machine, browser_as: Client, text: str
) -> None:
    form = {"at": text, "version": "1", "note": "x"}
    answer = browser_as(3).post(at(curlew, "keep/"), form)
    assert answer.status_code == 422
    assert beside(answer, "at")
    assert curlew.versions.count() == 1


def test_who_may_only_log_keeps_no_version(curlew: Machine, browser_as: Client) -> None:
    assert browser_as(2).get(at(curlew, "keep/"), {"at": "1.2"}).status_code == 403
    assert browser_as(2).post(at(curlew, "keep/"), {"at": "1.2"}).status_code == 403


def test_a_machine_without_a_filter_or_without_anything(
    sqlite_records: str, browser_as: Client
) -> None:
    chipper, client = add_demo_machine("sanderling"), browser_as(3)
    page = client.get(at(chipper), {"show": "1", "at": "1.5"})
    assert "No threshold is recommended; today's is 2 V" in words(page)
    assert b"<svg" not in page.content
    assert changes(page)["False trips by noise"] == ("not known", "not known")
    bare = new_machine('[machine]\nname = "{name}"\n')
    nothing = client.get(at(bare), {"show": "1"})
    assert nothing.status_code == 200
    assert "feed.cut_lengths" in words(nothing)
    assert client.get(at(bare, "keep/"), {"at": "1"}).status_code == 422
    assert client.get(f"/machines/{uuid4()}/set/threshold/").status_code == 404
