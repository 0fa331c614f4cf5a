"""The noise of a quiet run in the browser: read, its answers, what was guessed, into the log."""

from __future__ import annotations

import re
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from tests.web.recordings import NOISE_FLOOR, quiet_csv, stop_wav
from tests.web.test_measuring_stop import boxes, left, words
from tripmargin.ground.cautions import QUIET
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Entry, Machine

Client = Callable[..., Any]


@pytest.fixture
def whimbrel(sqlite_records: str) -> Machine:
    return add_demo_machine("whimbrel", who_name="Ann")


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TRIPMARGIN_HOME", str(tmp_path / "yard"))
    return tmp_path / "yard"


def at(machine: Machine, more: str = "") -> str:
    return f"/machines/{machine.uid}/measure/noise/{more}"


def sent(
    client: Any, machine: Machine, content: bytes, name: str = "quiet.csv", **said: str
) -> str:
    """The address of the recording that was sent."""
    form = {"recording": SimpleUploadedFile(name, content), **said}
    answer = client.post(at(machine), form)
    assert answer.status_code == 302, words(answer)
    return str(answer.headers["Location"])


def told(answer: Any) -> dict[str, str]:
    """What the page answers: each line's name to its value and limits."""
    found = re.findall(r"<dt>(.*?)</dt><dd>(.*?)</dd>", answer.content.decode(), re.DOTALL)
    return {
        name: re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", text)).strip() for name, text in found
    }


def test_cautions_first_and_only_for_who_may_log(whimbrel: Machine, browser_as: Client) -> None:
    page = browser_as(2).get(at(whimbrel)).content.decode()
    assert page.index(QUIET[:60]) < page.index('type="file"')
    assert " style=" not in page
    assert browser_as(1).get(at(whimbrel)).status_code == 403
    measure = browser_as(2).get(f"/machines/{whimbrel.uid}/measure/learned/").content.decode()
    assert f'href="{at(whimbrel)}"' in measure


def test_a_run_is_answered_and_kept_once_as_a_note(
    whimbrel: Machine, browser_as: Client, own_home: Path
) -> None:
    client, content = browser_as(2), quiet_csv()
    address = sent(client, whimbrel, content)
    page = client.get(address)
    assert page.status_code == 200, words(page)
    answers = told(page)
    # The rms that was made, and the share of a cosine of 0.2 V beside it.
    low, high = map(float, re.findall(r"95 %: ([0-9.]+) mV to ([0-9.]+) mV",
                                      answers["Noise floor, rms"])[0])  # fmt: skip
    assert low < 1e3 * NOISE_FLOOR < high
    share = 0.02 / (0.02 + NOISE_FLOOR**2)
    assert abs(int(re.match(r"\d+", answers["Share of a magnetised or bent roll"])[0])
               - 100 * share) < 6  # fmt: skip
    assert "channel" not in answers["False trips by noise, now"]
    assert "From version 1 of the machine" in answers["Threshold"]
    html = page.content.decode()
    assert html.count("<svg") == 1
    assert "order 1 amplitude" in html  # the table behind it
    assert " style=" not in html
    assert Entry.objects.count() == 0
    form = {**boxes(html), "uid": str(uuid4()), "do": "keep"}
    answer = client.post(address, form)
    entry = Entry.objects.get()
    assert answer.headers["Location"].endswith(f"#e-{entry.uid}")
    assert entry.kind == "note"
    assert "Noise floor, rms: " in entry.values["text"]
    assert "False trips with the roll cured: " in entry.values["text"]
    assert f"From quiet.csv, SHA-256 {sha256(content).hexdigest()}." in entry.note
    assert left(own_home) == []
    again = client.post(address, form)
    assert again.headers["Location"] == answer.headers["Location"]
    assert Entry.objects.count() == 1


def test_what_was_guessed_is_shown_and_said_otherwise(
    whimbrel: Machine, browser_as: Client, own_home: Path
) -> None:
    client = browser_as(2)
    address = sent(client, whimbrel, quiet_csv(",", "\t", head="made by a logger\n"))
    html = client.get(address).content.decode()
    assert "As guessed: tab" in html
    assert "As guessed: comma" in html
    assert "As guessed: roll pulses" in html
    shown = boxes(html)
    assert shown["header"] == shown["g.header"] == "2"
    assert shown["rate"] == "1000"
    # Left as it was filled, it says nothing.
    assert (
        '<details class="guessed">'
        in client.post(address, {**shown, "do": "look"}).content.decode()
    )
    changed = client.post(address, {**shown, "do": "look", "unit.1": "mV", "pulses_per_turn": "2"})
    assert changed.status_code == 200, words(changed)
    assert '<details class="guessed" open>' in changed.content.decode()
    assert told(changed)["Turns of the roll a second"].startswith("2.500 ")
    assert boxes(changed.content.decode())["unit.1"] == "mV"
    assert told(changed)["Noise floor, rms"].startswith("0.07 mV")
    assert len(left(own_home)) == 2  # the same file, sent once


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"header": "many"}, "Not a whole number"),
        ({"delimiter": "dash"}, "Not among the choices: “dash”"),
        ({"encoding": "klingon"}, "no encoding in which numbers can be read"),
        ({"time": "yesterday"}, "no such column"),
        ({"scale": "1,5"}, "A comma inside a number"),
        ({"roll_speed": "900"}, "Out of range"),
        ({"channel": "9"}, "Not among the choices: “9”"),
        ({"rate": "-4"}, "Out of range"),
    ],
)
def test_a_mistake_stays_beside_its_box(
    whimbrel: Machine, browser_as: Client, change: dict[str, str], said: str
) -> None:
    client = browser_as(2)
    address = sent(client, whimbrel, quiet_csv())
    shown = boxes(client.get(address).content.decode())
    answer = client.post(address, {**shown, **change, "do": "keep", "uid": str(uuid4())})
    assert answer.status_code == 422
    ((key, text),) = change.items()
    html = answer.content.decode()
    assert boxes(html)[key] == text
    beside = html.partition(f'id="{key}-trouble"')[2].partition("</div>")[0]
    assert said in re.sub(r"<[^>]*>", "", beside)
    assert Entry.objects.count() == 0
    right = client.post(address, {**shown, "do": "look"})
    assert right.status_code == 200


def test_speed_and_pulses_come_along_with_the_file(whimbrel: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    address = sent(client, whimbrel, quiet_csv(pickup=False), roll_speed="fast",
                   pulses_per_turn="1", **{"g.pulses_per_turn": "1"})  # fmt: skip
    wrong = client.get(address)  # the file is kept all the same
    assert wrong.status_code == 422
    assert "Not a number: “fast”." in words(wrong)
    nothing = client.post(at(whimbrel), {"roll_speed": "1.4"})
    assert nothing.status_code == 422
    assert "Choose a file." in words(nothing)
    assert boxes(nothing.content.decode())["roll_speed"] == "1.4"


def test_sound_has_no_volts_until_they_are_said(whimbrel: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    address = sent(client, whimbrel, stop_wav(), "quiet.wav")
    wrong = client.get(address)
    assert wrong.status_code == 422
    beside = wrong.content.decode().partition('id="scale-trouble"')[2].partition("</div>")[0]
    assert "without a unit, as sound is" in beside
    assert "scale=" not in beside


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("short.csv", quiet_csv(seconds=0.01), "10 samples"),
        ("words.csv", b"no;numbers\nat;all\n", "no column is the time"),
        ("zeros.bin", bytes(5000), "zeros.bin"),
    ],
)
def test_a_file_that_tells_nothing(
    whimbrel: Machine, browser_as: Client, name: str, content: bytes, said: str
) -> None:
    client = browser_as(2)
    answer = client.get(sent(client, whimbrel, content, name))
    assert answer.status_code == 422
    assert said in words(answer)


def test_somebody_elses_is_not_found(whimbrel: Machine, browser_as: Client) -> None:
    address = sent(browser_as(2, "Ann"), whimbrel, quiet_csv(seconds=1))
    assert browser_as(4, "Bo").get(address).status_code == 404
