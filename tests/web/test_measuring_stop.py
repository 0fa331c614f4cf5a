"""A stop timed in the browser: a file or frames, looked at, moved by hand, then into the log."""

from __future__ import annotations

import os
import re
import time
from collections.abc import Callable
from hashlib import sha256
from html import unescape
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import numpy as np
import pytest
from django.contrib.auth.models import AnonymousUser
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import RequestFactory

from tests.photos import photo
from tests.web.recordings import CLICK, RATE, REST, logger_csv, silent_wav, stop_wav, wav_of
from tripmargin.ground.cautions import STOPPING
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Entry, Machine
from tripmargin.web.doors.limits import LARGEST_RECORDING, RequestSize
from tripmargin.web.measuring import uploads

Client = Callable[..., Any]


@pytest.fixture
def curlew(sqlite_records: str) -> Machine:
    return add_demo_machine("curlew", who_name="Ann")


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TRIPMARGIN_HOME", str(tmp_path / "yard"))
    return tmp_path / "yard"


def at(machine: Machine, more: str = "") -> str:
    return f"/machines/{machine.uid}/measure/stop/{more}"


def words(answer: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", unescape(answer.content.decode())))


def send(client: Any, machine: Machine, content: bytes, name: str = "stop.wav") -> Any:
    return client.post(at(machine), {"recording": SimpleUploadedFile(name, content)})


def sent(client: Any, machine: Machine, content: bytes, name: str = "stop.wav") -> str:
    """The address of the recording that was sent."""
    answer = send(client, machine, content, name)
    assert answer.status_code == 302, words(answer)
    address: str = answer.headers["Location"]
    return address


def boxes(page: str) -> dict[str, str]:
    """What a browser sends of the page's form: boxes, choices, and what is hidden."""
    found = re.findall(r'<input (?:id="[^"]*"|type="hidden") name="([^"]+)" value="([^"]*)"', page)
    made = {name: unescape(value) for name, value in found if name not in ("next", "uid")}
    for name, options in re.findall(r'<select [^>]*name="([^"]+)"[^>]*>(.*?)</select>', page):
        chosen = re.findall(r'value="([^"]*)" selected', options)
        made[name] = unescape(chosen[0]) if chosen else ""
    return made


def left(home: Path) -> list[Path]:
    return [one for one in (home / "uploads").rglob("*") if one.is_file()]


def test_cautions_first_and_three_ways(curlew: Machine, browser_as: Client) -> None:
    page = unescape(browser_as(2).get(at(curlew)).content.decode())
    assert page.index(STOPPING[:60]) < page.index('type="file"')
    for name in ("recording", "first", "last", "rate"):
        assert f'name="{name}"' in page
    assert " style=" not in page
    assert browser_as(1).get(at(curlew)).status_code == 403


def test_a_sound_is_looked_at_and_kept_in_the_log(
    curlew: Machine, browser_as: Client, own_home: Path
) -> None:
    client, content = browser_as(2), stop_wav()
    address = sent(client, curlew, content, "Hof am Bach.wav")
    assert Entry.objects.count() == 0
    page = client.get(address)
    said = words(page)
    assert "Nothing is in the log yet." in said
    assert page.content.decode().count("<svg") == 1
    shown = boxes(page.content.decode())
    assert shown["i.click"] == "0.0"
    assert float(shown["i.rest"]) == pytest.approx(1e3 * (REST - CLICK), abs=12)
    (found,) = re.findall(r"was found, ([0-9.]+) s after the recording's beginning", said)
    assert float(found) == pytest.approx(CLICK, abs=0.003)
    form = {**shown, "uid": str(uuid4()), "do": "keep"}
    wrong = client.post(address, form)
    assert wrong.status_code == 422  # the stop hangs on the cut length
    assert "Needed, and left empty." in words(wrong)
    comma = client.post(address, {**form, "cut": "8,5"})
    assert comma.status_code == 422
    assert 'data-mend="cut"' in comma.content.decode()
    answer = client.post(address, {**form, "cut": "8.5"})
    entry = Entry.objects.get()
    assert answer.headers["Location"].endswith(f"#e-{entry.uid}")
    assert entry.kind == "stop time"
    assert entry.values["how"] == "sound"
    assert entry.values["cut_length_m"] == pytest.approx(0.0085)
    assert entry.values["stop_time_s"] == pytest.approx(REST - CLICK, abs=0.012)
    assert 0.0001 < entry.values["sd_s"] < 0.02
    assert f"From Hof-am-Bach.wav, SHA-256 {sha256(content).hexdigest()}." in entry.note
    assert left(own_home) == []  # thrown away
    # A second sending leads to the same entry, though the recording is gone.
    again = client.post(address, {**form, "cut": "8.5"})
    assert again.headers["Location"] == answer.headers["Location"]
    assert Entry.objects.count() == 1
    assert client.get(address).status_code == 404


def test_noise_without_a_stop_is_not_kept_before_both_ends_are_put_by_hand(
    curlew: Machine, browser_as: Client
) -> None:
    client = browser_as(2)
    noise = wav_of(np.random.default_rng(4).normal(0, 0.05, 3 * RATE))
    address = sent(client, curlew, noise)
    page = client.get(address)
    assert "No stop time: it is not clear that this is a stop." in words(page)
    assert "Not clear that this is a stop." in page.content.decode().partition("<svg")[2]
    assert "Keep in the log" not in words(page)
    shown = boxes(page.content.decode())
    form = {**shown, "uid": str(uuid4()), "do": "keep", "cut": "8.5"}
    refused = client.post(address, form)
    assert refused.status_code == 422
    assert "so it is not kept" in words(refused)
    assert boxes(refused.content.decode())["i.rest"] == shown["i.rest"]
    assert Entry.objects.count() == 0
    by_hand = {"i.click": "5.0", "i.rest": f"{float(shown['i.rest']) + 7:.1f}"}
    looked = client.post(address, {**form, **by_hand, "do": "look"})
    assert "Keep in the log" in words(looked)
    client.post(address, {**form, **by_hand})
    assert "Moved by hand: click at" in Entry.objects.get().note


def test_an_instant_moved_by_hand_moves_the_stop(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    address = sent(client, curlew, stop_wav())
    shown = boxes(client.get(address).content.decode())
    moved = {
        **shown,
        "do": "look",
        "i.click": "-5.0",
        "i.rest": "55",
    }
    page = client.post(address, moved)
    assert page.status_code == 200
    assert re.search(r"\b(59|60|61)(\.\d+)? ms with 95 %", words(page)), words(page)
    assert "Moved by hand: " in words(page)
    client.post(address, {**moved, "do": "keep", "cut": "8", "uid": str(uuid4())})
    entry = Entry.objects.get()
    assert entry.values["stop_time_s"] == pytest.approx(0.060, abs=0.002)
    assert "Moved by hand: click at " in entry.note


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("0,5", "A comma inside a number."),
        ("soon", "Not a number"),
        ("-200000", "Out of range: -200000 ms."),
        ("9e99", "Not a number"),
        ("", "Needed, and left empty."),
        ("900", "there is no stop between them"),
    ],
)
def test_an_instant_that_cannot_be(
    curlew: Machine, browser_as: Client, text: str, said: str
) -> None:
    client = browser_as(2)
    address = sent(client, curlew, stop_wav())
    shown = boxes(client.get(address).content.decode())
    answer = client.post(
        address, {**shown, "i.click": text, "cut": "8", "do": "keep", "uid": str(uuid4())}
    )
    assert answer.status_code == 422
    assert said in words(answer)
    assert f'name="i.click" value="{text}"' in answer.content.decode()
    assert Entry.objects.count() == 0


@pytest.mark.parametrize(
    ("decimal", "delimiter"), [(".", ","), (",", ";"), (".", "\t")], ids=["point", "comma", "tab"]
)
def test_a_loggers_file(curlew: Machine, browser_as: Client, decimal: str, delimiter: str) -> None:
    client = browser_as(2)
    address = sent(client, curlew, logger_csv(decimal, delimiter), "log.csv")
    page = client.get(address)
    assert page.status_code == 200, words(page)
    client.post(
        address,
        {**boxes(page.content.decode()), "cut": "8", "do": "keep", "uid": str(uuid4())},
    )
    entry = Entry.objects.get()
    assert entry.values["how"] == "logger"
    assert entry.values["stop_time_s"] == pytest.approx(0.06, abs=0.004)


def test_channels_that_are_named_wrongly_can_be_named_anew(
    curlew: Machine, browser_as: Client
) -> None:
    client = browser_as(2)
    address = sent(client, curlew, logger_csv(), "log.csv")
    wrong = client.post(address, {"trip": "nothing", "do": "look"})
    assert wrong.status_code == 422
    assert "Not among the choices: “nothing”. Allowed: 1: trip (V), 2: roll (V)." in words(wrong)
    assert boxes(wrong.content.decode())["trip"] == "nothing"
    right = client.post(address, {"trip": "1", "roll": "2", "do": "look"})
    assert right.status_code == 200
    assert "1 “trip” (V), 2 “roll” (V)" in words(right)
    assert boxes(right.content.decode())["roll"] == "2"
    swapped = client.post(address, {"trip": "2", "roll": "1", "do": "look"})
    assert swapped.status_code == 422


def test_frames_of_a_video(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    form = {"first": "112", "last": "125", "rate": "240"}
    page = client.post(at(curlew, "frames/"), form)
    assert page.status_code == 200
    assert "54.2 ms with 95 % between 50.9 ms and 57.4 ms" in words(page)
    assert Entry.objects.count() == 0
    kept = {**form, "cut": "8", "do": "keep", "uid": str(uuid4())}
    assert client.post(at(curlew, "frames/"), kept).status_code == 302
    client.post(at(curlew, "frames/"), kept)
    entry = Entry.objects.get()
    assert entry.values["how"] == "video"
    assert entry.values["stop_time_s"] == pytest.approx(13 / 240)
    assert "number 112" in entry.note


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"first": "-1"}, "Out of range: -1. Allowed: a whole number from 0 to 10 000 000."),
        ({"first": "1.5"}, "Not a whole number"),
        ({"first": "1,5"}, "Allowed: a whole number"),
        ({"rate": "239,7"}, "A comma inside a number."),
        ({"rate": "0"}, "Out of range: 0. Allowed: from 1 to 100 000."),
        ({"last": "112"}, "Frame 112, in which the roll stands, does not come after frame 112"),
        ({"last": "9999999"}, "is the rate that of the filming?"),
        ({"last": ""}, "Needed, and left empty."),
    ],
)
def test_frames_that_cannot_be(
    curlew: Machine, browser_as: Client, change: dict[str, str], said: str
) -> None:
    form = {"first": "112", "last": "125", "rate": "240", **change}
    answer = browser_as(2).post(at(curlew, "frames/"), form)
    assert answer.status_code == 422
    assert said in words(answer)
    (key,) = change
    assert f'name="{key}" value="{change[key]}"' in answer.content.decode()


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("silence.wav", silent_wav(), "silen"),
        ("picture.wav", photo(), "picture"),
        ("cut-off.wav", stop_wav()[:30], "cut-off.wav"),
        ("words.csv", b"no;numbers\nat;all\n", "words.csv"),
        ("noise.bin", bytes(range(256)) * 40, "noise.bin"),
        ("page.html", b"<script>alert(1)</script>", "page.html"),
        ("mixed.csv", b"t;a;b\n0,1;1.5;2\n0,2;1,5;3\n" * 3, "mixed.csv"),
    ],
    ids=["silence", "a picture", "cut off", "words", "noise", "a page", "mixed signs"],
)
def test_a_file_that_holds_no_stop_is_told_so(
    curlew: Machine, browser_as: Client, name: str, content: bytes, said: str
) -> None:
    client = browser_as(2)
    answer = client.get(sent(client, curlew, content, name))
    assert answer.status_code == 422
    assert said in words(answer).lower()
    assert "<script>alert" not in answer.content.decode()
    assert Entry.objects.count() == 0


def test_a_truncated_wav_is_read_as_far_as_it_goes(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    answer = client.get(sent(client, curlew, stop_wav()[: 44 + 2 * 48_000 * 2]))
    assert answer.status_code == 200
    assert "What was noticed" in words(answer)


def test_nothing_and_nothing_in_it(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    nothing = client.post(at(curlew), {})
    assert nothing.status_code == 422
    assert "Choose a file, or record one." in words(nothing)
    empty = send(client, curlew, b"", "empty.wav")
    assert empty.status_code == 422
    assert "0 bytes" in words(empty) or "Choose a file" in words(empty)


def test_a_huge_one_is_refused(
    curlew: Machine, browser_as: Client, monkeypatch: pytest.MonkeyPatch, own_home: Path
) -> None:
    client = browser_as(2)
    monkeypatch.setattr(uploads, "LARGEST", 1000)
    answer = send(client, curlew, stop_wav())
    assert answer.status_code == 422
    assert "Cut out the minute around the stop" in words(answer)
    assert left(own_home) == []


@pytest.mark.parametrize(
    ("more", "size", "status"),
    [
        ("", LARGEST_RECORDING, 200),
        ("", LARGEST_RECORDING + 1, 413),
        ("frames/", LARGEST_RECORDING, 413),
        ("x/", LARGEST_RECORDING, 413),
    ],
)
def test_here_alone_a_request_may_be_larger(
    curlew: Machine, more: str, size: int, status: int
) -> None:
    request = RequestFactory().post(at(curlew, more), {}, headers={"Content-Length": str(size)})
    request.META["CONTENT_LENGTH"] = str(size)
    request.user = AnonymousUser()
    assert RequestSize(lambda _: HttpResponse())(request).status_code == status


def test_somebody_elses_recording_is_not_found(curlew: Machine, browser_as: Client) -> None:
    ann, bo = browser_as(2, "Ann"), browser_as(4, "Bo")
    address = sent(ann, curlew, stop_wav())
    assert ann.get(address).status_code == 200
    assert bo.get(address).status_code == 404
    assert bo.post(address, {"do": "keep", "cut": "8"}).status_code == 404
    other = add_demo_machine("dunlin", who_name="Ann")
    upload = UUID(address.rstrip("/").rpartition("/")[2])
    assert ann.get(at(other, f"{upload}/")).status_code == 404
    assert ann.get(at(curlew, f"{uuid4()}/")).status_code == 404
    assert Entry.objects.count() == 0


def test_it_lies_in_a_private_folder_for_an_hour(
    curlew: Machine, browser_as: Client, own_home: Path
) -> None:
    client = browser_as(2)
    address = sent(client, curlew, stop_wav(), "../../../etc/passwd.wav")
    (folder,) = {one.parent for one in left(own_home)}
    assert folder.is_relative_to(own_home / "uploads")
    assert folder.stat().st_mode & 0o077 == 0
    assert sorted(one.name for one in folder.iterdir()) == ["about.json", "passwd.wav"]
    old = time.time() - uploads.LASTS - 5
    os.utime(folder, (old, old))
    assert client.get(address).status_code == 404
    assert left(own_home) == []


def test_a_person_has_five_at_a_time(curlew: Machine, browser_as: Client, own_home: Path) -> None:
    client = browser_as(2)
    addresses = [sent(client, curlew, b"0;1\n" * 5, f"{k}.csv") for k in range(uploads.MOST + 1)]
    assert len(left(own_home)) == 2 * uploads.MOST
    assert client.get(addresses[0]).status_code == 404
    assert client.get(addresses[-1]).status_code != 404


def test_sending_is_limited(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    answers = [send(client, curlew, b"x", "a.csv").status_code for _ in range(31)]
    assert answers[:30] == [302] * 30
    assert answers[30] == 429


def test_a_stop_kept_so_is_learned_from(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    form = {"first": "112", "last": "125", "rate": "240", "cut": "8", "do": "keep"}
    client.post(at(curlew, "frames/"), {**form, "uid": str(uuid4())})
    page = words(client.get(f"/machines/{curlew.uid}/measure/learned/"))
    assert "From 1 timed stop in the log" in page
