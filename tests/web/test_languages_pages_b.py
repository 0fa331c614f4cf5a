"""Pages of the log, of measuring, of setting and of the card: every word through a catalogue."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from tests.marked_language import unmarked
from tools.said_in import said_in_script
from tripmargin import web
from tripmargin.recordings.reading.kinds import KINDS
from tripmargin.records.keeping.entries import NewEntry, write_entry
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.web.log.script_words import SCRIPT_WORDS, SCRIPTS

Make = Callable[..., Any]
ENTRIES: dict[str, dict[str, Any]] = {
    "daily check": {"tripped": True, "reset": True},
    "adjustment": {"gap_before_m/lower": 0.0041, "gap_after_m/lower": 0.0036},
    "stop time": {"stop_time_s": 0.041, "how": "logger", "cut_length_m": 0.009},
    "note": {"text": "Drawbar painted."},
    "test pass": {
        "piece": "20 mm ball", "caught": True, "across_m": 0.1, "height_m": 0.05, "speed_m_s": 1.2,
    },
}  # fmt: skip
# Names, what a person typed, signs of formats, and what the machine's file itself says.
DATA = {
    "dunlin", "Dunlin", "role 4", "Drawbar painted.", "tripmargin", "UTC", "SI", "JPEG", "PNG",
    "WebP", "CSV", "JSON", "MB", "mm", "ms", "SHA-256", "run.csv", "Zeit", "level",
    "Marked", "English", "Deutsch", "min", "µs", "ns", *KINDS,
}  # fmt: skip
# A field's path in the machine file, beside its name in words.
PATHS = re.compile(r"\b(?:chain|feed|sensor|detector)(?:\.\w+)+")


@pytest.fixture
def client(browser_as: Make, marked: str) -> Any:
    """An owner who reads the marked language."""
    made = browser_as(4)
    made.cookies["tripmargin_language"] = marked
    return made


@pytest.fixture
def machine(sqlite_records: str) -> Any:
    """A machine with an entry of several kinds."""
    made = add_demo_machine("dunlin")
    for kind, values in ENTRIES.items():
        write_entry(made, NewEntry(kind=kind, values=values))
    return made


def _left(page: str, *more: str) -> list[str]:
    # Beyond the page's own part there is the frame, which is tested by itself.
    own = page[page.find("<main") :] if "<main" in page else page
    return unmarked(PATHS.sub("", own.partition("</main>")[0]), DATA | set(more))


@pytest.mark.parametrize(
    "name",
    ["machine-log", "machine-gaps", "log-exchange", "offline"],
)
def test_pages_of_the_log(client: Any, machine: Any, name: str) -> None:
    address = reverse(name, args=[machine.uid] if name.startswith("machine") else [])
    assert _left(client.get(address).content.decode()) == []


@pytest.mark.parametrize(
    "kind",
    ["daily-check", "trip", "false-trip", "missed-metal", "adjustment", "stop-time",
     "part-replaced", "hours", "note", "test-pass", "plan"],
)  # fmt: skip
def test_forms_of_the_log(client: Any, machine: Any, kind: str) -> None:
    address = reverse("new-entry", args=[machine.uid, kind])
    assert _left(client.get(address).content.decode()) == []
    # What is wrong stands beside its box in the same language.
    refused = client.post(address, {"uid": "none", "at": "never"})
    assert refused.status_code == 422
    assert _left(refused.content.decode()) == []


def test_an_entry_its_correction_and_its_taking_back(client: Any, machine: Any) -> None:
    one = machine.entries.get(kind="note")
    for name in ("entry", "correct-entry", "withdraw-entry"):
        page = client.get(reverse(name, args=[one.uid])).content.decode()
        assert _left(page) == [], name
    client.post(reverse("withdraw-entry", args=[one.uid]), {"uid": str(one.uid), "note": ""})
    taken = {"uid": "4d3a1c5e-0000-4000-8000-000000000001", "note": "Drawbar painted."}
    assert client.post(reverse("withdraw-entry", args=[one.uid]), taken).status_code == 302
    for name in ("entry", "correct-entry"):
        page = client.get(reverse(name, args=[one.uid])).content.decode()
        assert _left(page) == [], name


def test_a_file_of_entries_that_is_refused(client: Any, machine: Any) -> None:
    file = SimpleUploadedFile("run.csv", b"machine,kind,at\ndunlin,none,2026-11-29\n")
    page = client.post(reverse("log-exchange"), {"file": file, "do": "look"})
    assert page.status_code == 422
    # The column that is wrong, and what stands in it.
    assert _left(page.content.decode(), "kind", "none") == []


@pytest.mark.parametrize(
    "name",
    ["machine-learned", "machine-learned-keep", "machine-stop", "machine-noise", "machine-pieces",
     "machine-stop-frames", "machine-measure"],
)  # fmt: skip
def test_pages_of_measuring(client: Any, machine: Any, name: str) -> None:
    page = client.get(reverse(name, args=[machine.uid])).content.decode()
    assert _left(page) == []


def test_a_stop_by_frames(client: Any, machine: Any) -> None:
    address = reverse("machine-stop-frames", args=[machine.uid])
    for said in ({"first": "1", "last": "20", "rate": "240"}, {"first": "x", "rate": "1,5"}):
        assert _left(client.post(address, said).content.decode()) == []


def test_a_recording_that_is_missing_or_gone(client: Any, machine: Any) -> None:
    for name in ("machine-stop", "machine-noise"):
        page = client.post(reverse(name, args=[machine.uid]))
        assert page.status_code == 422
        assert _left(page.content.decode()) == [], name
        gone = reverse(f"{name}-found", args=[machine.uid, machine.uid])
        assert _left(client.get(gone).content.decode()) == [], name


def test_setting_the_pawls(client: Any, machine: Any) -> None:
    address = reverse("machine-set-pawls", args=[machine.uid])
    assert _left(client.get(address).content.decode()) == []
    gaps = {"gap.lower": "6.2", "gap.upper": "3.1", "do": "plan", "unit": "mm"}
    assert _left(client.get(address, gaps).content.decode()) == []
    wrong = {**gaps, "gap.lower": "0,5", "gap.upper": "many", "feeler": "9 m"}
    assert _left(client.get(address, wrong).content.decode()) == []


def test_setting_the_threshold(client: Any, machine: Any) -> None:
    address = reverse("machine-set-threshold", args=[machine.uid])
    assert _left(client.get(address, {"show": "1", "at": "0.9"}).content.decode()) == []
    assert _left(client.get(address, {"at": "1,5", "hours": "x"}).content.decode()) == []
    keep = reverse("machine-set-threshold-keep", args=[machine.uid])
    assert _left(client.get(keep, {"at": "0.9"}).content.decode()) == []


def test_the_card_for_the_phone(client: Any, machine: Any) -> None:
    address = reverse("machine-card", args=[machine.uid])
    assert _left(client.get(address).content.decode()) == []
    assert _left(client.post(address).content.decode()) == []


def test_the_page_brings_what_the_scripts_say(client: Any, machine: Any) -> None:
    static = Path(web.__file__).parent / "static" / "tripmargin"
    said = [message for name in SCRIPTS for _, message, _ in said_in_script(static / name)]
    assert set(SCRIPT_WORDS) == set(said)
    page = client.get(reverse("machine-log", args=[machine.uid])).content.decode()
    assert "\u27e6Send now\u27e7" in page
