"""What a stranger reads on the measuring pages: no keywords, why at the top, what comes next."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import uuid4

import numpy as np
import pytest

from tests.photos import photo
from tests.web.recordings import RATE, logger_csv, quiet_csv, silent_wav, stop_wav, wav_of
from tests.web.test_measuring_stop import at, boxes, send, sent, words
from tripmargin.ground.quantities import quantity
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Entry, Machine
from tripmargin.web.measuring.plain_words import plainly

Client = Callable[..., Any]
KEYWORDS = re.compile(r"\b(rate|scale|header|delimiter|decimal|time|roll_\w+|units|kind|which)=")
NOISE = wav_of(np.random.default_rng(4).normal(0, 0.05, 3 * RATE))


@pytest.fixture
def curlew(sqlite_records: str) -> Machine:
    return add_demo_machine("curlew", who_name="Ann")


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TRIPMARGIN_HOME", str(tmp_path / "yard"))
    return tmp_path / "yard"


def noise_sent(client: Any, machine: Machine, content: bytes, name: str) -> str:
    from django.core.files.uploadedfile import SimpleUploadedFile

    address = f"/machines/{machine.uid}/measure/noise/"
    answer = client.post(address, {"recording": SimpleUploadedFile(name, content)})
    assert answer.status_code == 302, words(answer)
    return str(answer.headers["Location"])


def test_both_ends_heard_where_they_stand_make_an_unclear_stop_one(
    curlew: Machine, browser_as: Client
) -> None:
    client = browser_as(2)
    address = sent(client, curlew, NOISE)
    page = client.get(address)
    assert "I hear both, click and rest, exactly there" in words(page)
    form = {**boxes(page.content.decode()), "there": "yes", "uid": str(uuid4())}
    looked = client.post(address, {**form, "do": "look"})
    assert looked.status_code == 200, words(looked)
    assert "No stop time" not in words(looked)
    assert 'name="there" value="yes" checked' in looked.content.decode()
    assert "Put by hand where it was found." in words(looked)
    assert client.post(address, {**form, "do": "keep", "cut": "8"}).status_code == 302
    entry = Entry.objects.get()
    assert "Moved by hand: click at" in entry.note
    # Within 1 ms each, as where both were moved: sqrt(2) ms and what was not in them.
    shown = float(form["i.rest"]) - float(form["i.click"])
    assert entry.values["stop_time_s"] == pytest.approx(shown / 1e3, abs=1e-3)
    assert entry.values["sd_s"] < 1.5e-3


def test_the_tick_falls_away_with_another_stop_and_is_not_offered_for_a_clear_one(
    curlew: Machine, browser_as: Client
) -> None:
    client = browser_as(2)
    address = sent(client, curlew, NOISE)
    form = {**boxes(client.get(address).content.decode()), "there": "yes", "do": "look"}
    other = client.post(address, {**form, "click_delay.low": "1", "click_delay.high": "2"})
    assert "No stop time" in words(other)
    assert 'value="yes" checked' not in other.content.decode()
    assert "exactly there" not in words(client.get(sent(client, curlew, stop_wav())))


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("repeated.csv", b"t [s];trip [V];roll [V]\n" + b"0.1;12;5\n" * 60, "“Samples a second”"),
        ("rows.csv", b"trip;roll\n" + b"12;5\n3;2\n" * 9, "“Samples a second”"),
        ("letters.csv", b"Dear Sir;how are you\nfine;thanks\n", "“What parts the columns”"),
    ],
)
def test_errors_name_the_pages_boxes_and_no_keywords(
    curlew: Machine, browser_as: Client, name: str, content: bytes, said: str
) -> None:
    client = browser_as(2)
    for page in (
        client.get(sent(client, curlew, content, name)),
        client.get(noise_sent(client, curlew, content, name)),
    ):
        assert page.status_code == 422
        assert said in words(page)
        assert not KEYWORDS.search(words(page)), words(page)
        assert f"{name}:" not in words(page)


def test_a_run_without_a_pickup_says_in_the_pages_words_what_would_help(
    sqlite_records: str, browser_as: Client
) -> None:
    whimbrel, client = add_demo_machine("whimbrel", who_name="Ann"), browser_as(2)
    floor = np.random.default_rng(2).normal(0, 0.05, 6000)
    rows = "".join(f"{k / 1000:.3f};{value:.5f}\n" for k, value in enumerate(floor))
    page = client.get(
        noise_sent(client, whimbrel, f"time [s];output [V]\n{rows}".encode(), "a.csv")
    )
    said = words(page)
    assert "“Speed of the roll's surface”" in said
    assert not KEYWORDS.search(said), said


def test_why_a_file_cannot_be_read_stands_at_the_top(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    page = client.get(sent(client, curlew, photo(), "stop.wav"))
    first = words(page).partition("What was guessed")[0]
    assert "It cannot be read so." in first
    assert "this is a picture" in first.lower()
    assert "Choose the recording itself." in first
    assert 'href="#kind"' in page.content.decode()
    assert "Trip line's channel" not in words(page)  # a picture has no channels to name
    named = words(client.get(sent(client, curlew, photo(), "stop.jpg")))
    assert "though its name" not in named


def test_what_was_noticed_stands_before_the_button_that_keeps(
    curlew: Machine, browser_as: Client
) -> None:
    client = browser_as(2)
    cut_off = words(client.get(sent(client, curlew, stop_wav()[: 44 + 2 * 48_000 * 2])))
    assert cut_off.index("The file is cut off") < cut_off.index("Keep in the log")
    assert cut_off.count("The file is cut off") == 1  # and not a second time under the picture


@pytest.mark.parametrize("what", ["stop", "noise"])
def test_a_recording_that_is_gone_says_so_and_leads_to_the_log(
    curlew: Machine, browser_as: Client, what: str
) -> None:
    client = browser_as(2)
    address = f"/machines/{curlew.uid}/measure/{what}/{uuid4()}/"
    for answer in (client.get(address), client.post(address, {"do": "keep", "cut": "8"})):
        assert answer.status_code == 404
        assert "This recording is gone" in words(answer)
        assert f'href="/machines/{curlew.uid}/log/"' in answer.content.decode()
        assert f'href="/machines/{curlew.uid}/measure/{what}/"' in answer.content.decode()


def test_the_same_recording_again_is_known(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    address = sent(client, curlew, stop_wav())
    page = client.get(address)
    assert "in the log already" not in words(page)
    form = {**boxes(page.content.decode()), "uid": str(uuid4()), "do": "keep", "cut": "8"}
    assert client.post(address, form).status_code == 302
    again = client.get(sent(client, curlew, stop_wav()))
    assert "A stop of this very recording is in the log already" in words(again)
    assert f"/entries/{form['uid']}/" in again.content.decode() or form["uid"] in (
        again.content.decode()
    )
    other = client.get(sent(client, curlew, stop_wav(seed=2)))
    assert "in the log already" not in words(other)


def test_a_stop_time_is_no_finer_than_its_interval(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    page = client.get(sent(client, curlew, logger_csv(), "stop.csv"))
    said = re.findall(r"([0-9.]+ ms) with 95 % between ([0-9.]+ ms) and ([0-9.]+ ms)", words(page))
    assert len(said) == 1
    assert all(re.fullmatch(r"\d+\.\d ms", one) for one in said[0]), said
    picture = page.content.decode().partition("<svg")[2].partition("</svg>")[0]
    assert f"Stop time {said[0][0]}" in picture
    assert "at 6.1 V." in words(page)  # the level that the trip line crosses, with its unit


def test_channels_without_names_have_units_and_times_of_an_unknown_unit_are_told(
    curlew: Machine, browser_as: Client
) -> None:
    client = browser_as(2)
    rows = (f"{k * 0.5};{12 if k < 600 else 0};{5 if k < 700 else 0}" for k in range(1500))
    content = "\n".join(rows).encode()
    address = sent(client, curlew, content, "rows.csv")
    page = client.get(address)
    assert page.status_code == 422
    assert "The file does not say the unit of its times: s was taken." in words(page)
    assert "CSV with 2 channels without names." in words(page)
    said = {**boxes(page.content.decode()), "unit.time": "ms", "unit.1": "V", "do": "look"}
    right = client.post(address, said)
    assert right.status_code == 200, words(right)
    assert "channel 1 (V)" in right.content.decode()
    assert "channel 2 (V)" not in right.content.decode()


def test_frames_stay_to_be_counted_otherwise(curlew: Machine, browser_as: Client) -> None:
    form = {"first": "112", "last": "125", "rate": "240"}
    page = browser_as(2).post(at(curlew, "frames/"), form)
    again = page.content.decode().partition("Counted otherwise?")[2]
    for name, value in form.items():
        assert f'id="{name}" name="{name}" value="{value}"' in again


def test_a_comma_in_a_whole_number_is_mended_to_a_whole_number(
    curlew: Machine, browser_as: Client
) -> None:
    page = browser_as(2).post(
        at(curlew, "frames/"), {"first": "1,120", "last": "1133", "rate": "240"}
    )
    assert "Make it 1120" in words(page)
    assert "Make it 1.120" not in words(page)


def test_the_chance_of_a_pass_is_round_and_says_where_it_comes_from(
    curlew: Machine, browser_as: Client
) -> None:
    page = words(browser_as(2).get(f"/machines/{curlew.uid}/measure/learned/"))
    assert re.search(r"Caught: chance \d{1,2} %, by version 1 of the file\.", page), page
    assert "caught with" not in page


def test_values_and_names_of_the_file_as_people_write_them() -> None:
    from tripmargin.web.measuring.showing import by_names, chance_words, file_words

    assert [chance_words(one) for one in (0.456, 0.004, 0.9996)] == [
        "46 %", "under 1 %", "over 99 %",
    ]  # fmt: skip
    assert file_words(quantity("1315 +- 260 (sd)", "number"), us=False) == "1315 ± 260 (sd)"
    torque = quantity("1.45 N m +- 0.2 N m", "torque")
    assert file_words(torque, us=False) == "1.45 N m ± 0.2 N m"
    assert by_names("It changed detector.gain.") == "It changed “Gain, detector”."


def test_silence_is_told_in_words(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    page = words(client.get(sent(client, curlew, silent_wav(), "hush.wav")))
    assert "hush.wav is silent" in page
    assert "WAV with one channel." in page
    assert "“channel 1”" not in page


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("Say rate=1000.", "Say “Samples a second”, such as 1000."),
        ("Say header=LINES, or kind=\"CSV\".",
         "Say “Lines above the first numbers”, or “What kind of file it is” “CSV”."),
        ("a.csv: channel 1 'channel 1' is dead.", "Channel 1 is dead."),
        ("the rolls' noise and the roll's 'speed'", "the rolls' noise and the roll's “speed”"),
        ("Allowed: up to 1e+06 uV at 20 degC.", "Allowed: up to 1 000 000 µV at 20 °C."),
    ],
)  # fmt: skip
def test_the_librarys_words_for_a_page(said: str, told: str) -> None:
    assert plainly(said) == told


def test_nothing_chosen_and_a_form_sent_empty(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    assert send(client, curlew, b"", "empty.wav").status_code == 422
    page = client.get(noise_sent(client, curlew, quiet_csv(seconds=6), "quiet.csv"))
    assert "never passed it" in words(page)
