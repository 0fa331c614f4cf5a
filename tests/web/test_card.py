"""The phone card in the web app: saved from the machine's page, and brought back once."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Entry, FaultCase, Machine
from tripmargin.web.whats_wrong.keeper import problem_of

Client = Callable[..., Any]
AT = "2026-09-01T07:30:00Z"


@pytest.fixture
def dunlin(sqlite_records: str) -> Machine:
    return add_demo_machine("dunlin")


def note(**more: Any) -> dict[str, Any]:
    return {
        "uid": str(uuid4()), "machine": "Dunlin", "kind": "note", "at": AT, "who": "Somebody Else",
        "values": {"text": "Left pawl stiff"}, "note": "Since the rain", "source": "card", **more,
    }  # fmt: skip


def sent(*entries: Any, **more: Any) -> SimpleUploadedFile:
    whole = {"tripmargin": "records", "format": 1, "entries": list(entries), **more}
    return SimpleUploadedFile("card.json", json.dumps(whole).encode())


def bring(client: Any, machine: Machine, *files: Any) -> Any:
    return client.post(f"/machines/{machine.uid}/card/", {"files": list(files)})


def test_the_card_is_saved_from_the_machines_page(dunlin: Machine, browser_as: Client) -> None:
    client = browser_as(1)
    address = f"/machines/{dunlin.uid}/card/"
    client.get(address)
    assert problem_of(dunlin.versions.get()).done.wait(600)
    assert "Save the card" in client.get(address).content.decode()
    saved = client.get(f"{address}file/")
    assert saved.status_code == 200
    assert saved.headers["Content-Disposition"] == 'attachment; filename="card-Dunlin.html"'
    text = saved.content.decode()
    data = json.loads(re.search(r'id="card-data">(.*?)</script>', text, re.S)[1])  # type: ignore[index]
    assert data["machine"] == "Dunlin"
    assert "Card of Dunlin, version 1, made on" in data["about"][0]
    assert data["faults"] is not None


def test_what_it_brings_is_kept_once_and_under_the_senders_name(
    dunlin: Machine, browser_as: Client
) -> None:
    client = browser_as(2)
    entry = note(received_at="2020-01-01T00:00:00Z")
    line = {"uid": str(uuid4()), "at": AT, "kind": "finding", "check": "complaint", "word": "dead"}
    case = {"uid": str(uuid4()), "machine": "Dunlin", "begun": AT, "lines": [line]}
    answer = bring(client, dunlin, sent(entry, cases=[case]))
    assert answer.status_code == 302
    kept = Entry.objects.get()
    assert (kept.who_name, kept.note, kept.source) == ("role 2", "Since the rain", "card")
    assert kept.received_at.year > 2020
    assert FaultCase.objects.get().begun_by_name == "role 2"
    bring(client, dunlin, sent(entry, cases=[case]))
    assert Entry.objects.count() == 1
    assert FaultCase.objects.count() == 1


@pytest.mark.parametrize(
    ("file", "words"),
    [
        (sent(note(machine="Curlew")), "of the machine “Curlew”"),
        (sent(note(kind="stop time", values={"stop_time_s": 0.05})), "no entry that a card makes"),
        (sent(note(), machines=[]), "which no card does"),
        (sent(note(at="yesterday")), "not a time"),
        (sent(note(values={"hours_s": "many"})), "hours"),
        (sent(3), "are no objects"),
        (SimpleUploadedFile("card.json", b"[1]"), "Not a file that a card saves"),
        (SimpleUploadedFile("card.json", b"[" * 100_000), "no JSON"),
        (SimpleUploadedFile("card.json", b"\xff\xfe"), "no JSON"),
        (SimpleUploadedFile("card.exe", b"MZ"), "not what a card brings back"),
        (SimpleUploadedFile("code.png", b"no picture"), "not a picture"),
        (SimpleUploadedFile("codes.txt", b"hello"), "no code of a card"),
        (SimpleUploadedFile("codes.txt", b"TM1 00000000 1/2 x"), "Missing: 2"),
        (SimpleUploadedFile("codes.txt", b"TM1 00000000 1/1 {}"), "a sign was lost"),
    ],
)  # fmt: skip
def test_what_is_no_card_of_this_machine_is_told(
    dunlin: Machine, browser_as: Client, file: Any, words: str
) -> None:
    file.seek(0)
    add_demo_machine("curlew")
    answer = bring(browser_as(2), dunlin, file)
    assert answer.status_code == 422
    page = answer.content.decode().replace("&quot;", '"').replace("&#x27;", "'")
    assert words.replace("“", '"').replace("”", '"') in page
    assert Entry.objects.count() == 0


def test_nothing_chosen_is_told(dunlin: Machine, browser_as: Client) -> None:
    assert "Choose the card&#x27;s file" in bring(browser_as(2), dunlin).content.decode()
