"""Pages of a recording, of reports and of what is refused, read in a language that marks."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.core.exceptions import (
    DisallowedHost,
    RequestDataTooBig,
    TooManyFieldsSent,
    TooManyFilesSent,
)
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import RequestFactory
from django.urls import reverse
from django.utils.translation import override

from tests.marked_language import unmarked
from tests.web.recordings import logger_csv, quiet_csv, silent_wav, stop_wav
from tests.web.test_measuring_stop import boxes
from tripmargin.ground.languages import speaking
from tripmargin.recordings.reading.kinds import KINDS
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Machine
from tripmargin.web.doors import refusals

Make = Callable[..., Any]
# Names, units, channels and columns of the files, and what is written in them.
DATA = {
    "curlew", "Curlew", "Dunlin", "role 4", "tripmargin", "margin", "trip", "English", "Marked",
    "UTC", "WAV", "MDF", "CSV", "MB", "SHA-256", "mm", "ms", "mV", "kHz", "Hz", "min", "µs",
    "stop.wav", "stop.csv", "quiet.csv", "bad.wav", "time [s]", "trip [V]", "roll [V]", "channel 1",
    "output [V]", "roll pulses [V]",
    "time", "roll", "output", "roll pulses", "rad", "Text", "PDF", "HTML", "rms", "1/min", "rpm",
    *KINDS,
}  # fmt: skip
# A field's path in the machine file, beside its name in words; and a file's fingerprint.
PATHS = re.compile(r"\b(?:chain|feed|sensor|detector)(?:\.\w+)+|\b[0-9a-f]{16,64}\b")


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A yard of the test's own: recordings are kept beside the records."""
    monkeypatch.setenv("TRIPMARGIN_HOME", str(tmp_path / "yard"))


@pytest.fixture
def client(browser_as: Make, marked: str) -> Any:
    """An owner who reads the marked language."""
    made = browser_as(4)
    made.cookies["tripmargin_language"] = marked
    return made


@pytest.fixture
def machine(sqlite_records: str) -> Machine:
    return add_demo_machine("curlew")


def left(answer: Any, *more: str, status: int = 200) -> list[str]:
    assert answer.status_code == status, answer.content.decode()[:2000]
    own = answer.content.decode()
    own = own[own.find("<main") :].partition("</main>")[0] if "<main" in own else own
    # A page leaves out the file's name, with which the library's sentences begin, and their mark.
    own = re.sub(r">(?=(?:Channel|Line) [^<]*⟧)", ">⟦", own)
    return unmarked(PATHS.sub("", own), DATA | set(more))


def sent(client: Any, machine: Machine, page: str, name: str, content: bytes) -> Any:
    file = {"recording": SimpleUploadedFile(name, content)}
    return client.post(reverse(page, args=[machine.uid]), file)


@pytest.mark.parametrize(
    ("name", "content"), [("stop.wav", stop_wav()), ("stop.csv", logger_csv())], ids=["wav", "csv"]
)
def test_a_stop_that_was_found(client: Any, machine: Machine, name: str, content: bytes) -> None:
    address = sent(client, machine, "machine-stop", name, content).headers["Location"]
    page = client.get(address)
    assert left(page) == []
    moved = {**boxes(page.content.decode()), "look": "1"}
    assert left(client.get(address, moved)) == []
    wrong = {**moved, **{key: "x" for key in moved if key not in ("look", "choose")}}
    answer = client.get(address, wrong)
    assert left(answer, "x", status=answer.status_code) == []


def test_a_quiet_run_that_was_found(client: Any, machine: Machine) -> None:
    address = sent(client, machine, "machine-noise", "quiet.csv", quiet_csv()).headers["Location"]
    page = client.get(address)
    assert left(page) == []
    moved = {**boxes(page.content.decode()), "look": "1"}
    assert left(client.get(address, moved)) == []


@pytest.mark.parametrize("page", ["machine-stop", "machine-noise"])
@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("bad.wav", b"RIFF....not a sound"),
        ("bad.wav", b""),
        ("stop.csv", b"time [s];trip [V]\n0;many\n1;x\n"),
        ("stop.csv", b"\x00\x01\x02" * 50),
        ("silent.wav", silent_wav()),
        ("stop.txt", b"hello"),
    ],
)
def test_a_recording_that_is_refused(
    client: Any, machine: Machine, page: str, name: str, content: bytes
) -> None:
    answer = sent(client, machine, page, name, content)
    if answer.status_code == 302:  # it can be read; what it lacks is said on its page
        answer = client.get(answer.headers["Location"])
    assert left(answer, name, "many", "hello", status=answer.status_code) == []


def test_pages_of_the_reports(client: Any, machine: Machine) -> None:
    one = reverse("machine-reports", args=[machine.uid])
    pages = (one, reverse("fleet-reports"))
    assert {page: found for page in pages if (found := left(client.get(page)))} == {}
    wrong = {
        "by a wrong day": (reverse("season-report"), {"from": "never", "to": "2026-13-01"}),
        "of no kind": (reverse("machine-report", args=[machine.uid, "none"]), {}),
        "of a wrong cut": (
            reverse("machine-report", args=[machine.uid, "commissioning"]),
            {"cuts": "x", "cut": "x"},
        ),
    }  # fmt: skip
    found = {}
    for what, (address, said) in wrong.items():
        answer = client.get(address, said)
        if answer.headers["Content-Type"].startswith("text/html") and answer.status_code != 200:
            found[what] = left(answer, "never", "2026-13-01", "x", status=answer.status_code)
    assert {what: words for what, words in found.items() if words} == {}


@pytest.mark.parametrize(
    "why",
    [None, DisallowedHost(), RequestDataTooBig(), TooManyFieldsSent(), TooManyFilesSent()],
    ids=lambda why: type(why).__name__,
)
def test_what_cannot_be_taken_is_said(client: Any, marked: str, why: Exception | None) -> None:
    request = RequestFactory().get("/")
    with speaking(marked), override(marked):
        answers = (
            refusals.bad_request(request, why), refusals.not_allowed(request),
            refusals.forged(request), refusals.not_found(request), refusals.broken(request),
        )  # fmt: skip
        for answer in answers:
            assert left(answer, status=answer.status_code) == []


def test_what_is_too_much_is_said(client: Any, machine: Machine) -> None:
    address = reverse("machine-stop", args=[machine.uid])
    large = client.post(address, b"x", content_type="text/plain", CONTENT_LENGTH=str(10**10))
    assert left(large, status=413) == []
    for page in ("people", "machine-add"):
        client.post(reverse("sign-out"))
        assert left(client.get(reverse(page), follow=True)) == []
    roles = client.get("/nowhere/")
    assert left(roles, status=404) == []
