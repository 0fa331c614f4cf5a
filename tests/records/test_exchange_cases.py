"""Fault-finding cases that a phone card brings: taken once, checked whole, and nothing lost."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest

from tripmargin.records.exchange.importing import By, import_file
from tripmargin.records.exchange.troubles import ImportRefusedError
from tripmargin.records.keeping.case_lines import By as Adding
from tripmargin.records.keeping.case_lines import case_file, lines_of
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import AuditLine, CaseLine, FaultCase

AT = "2026-09-01T07:30:00Z"


def line(**more: Any) -> dict[str, Any]:
    return {"uid": str(uuid4()), "at": AT, "kind": "finding", **more}


def sent(**more: Any) -> dict[str, Any]:
    case = {
        "uid": str(uuid4()), "machine": "Dunlin", "who": "Ann Moss", "digest": "0" * 64,
        "begun": AT, "status": "open",
        "lines": [line(check="complaint", word="feed stays stopped"),
                  line(check="armed: trip latched", word="off", note="seen twice")],
    }  # fmt: skip
    return case | more


@pytest.fixture
def bring(tmp_path: Path) -> Callable[..., Any]:
    def from_file(*cases: Any, check_only: bool = False) -> Any:
        path = tmp_path / "card.json"
        whole = {"tripmargin": "records", "format": 1, "entries": [], "cases": list(cases)}
        path.write_text(json.dumps(whole), "utf-8")
        return import_file(path, check_only=check_only, by=By(name="Ann Moss"))

    return from_file


def test_a_case_comes_in_once(records: str, bring: Callable[..., Any]) -> None:
    add_demo_machine("dunlin")
    case = sent()
    assert bring(case, check_only=True).answers == 2
    assert FaultCase.objects.count() == 0
    assert bring(case).answers == 2
    assert bring(case).answers == 0
    kept = FaultCase.objects.get()
    assert (kept.complaint, kept.status, kept.begun_by_name) == (
        "feed stays stopped", "open", "Ann Moss",
    )  # fmt: skip
    entries = [one.entry for one in lines_of(kept)]
    assert [one.get("word") for one in entries] == ["feed stays stopped", "off"]
    assert [one.get("done_at") for one in entries] == ["2026-09-01T07:30:00+00:00"] * 2
    assert {one.who for one in lines_of(kept)} == {"Ann Moss"}
    assert AuditLine.objects.filter(what="import").count() == 1
    case["lines"].append(line(kind="repair", repair="mend F1", word="failed", failed_at=2))
    case["lines"].append(line(kind="hand over", why="no spare here"))
    case["status"] = "handed over"
    assert bring(case).answers == 2
    kept.refresh_from_db()
    assert kept.status == "handed over"
    assert CaseLine.objects.filter(case=kept).count() == 5  # its head, and four answers


def test_answers_are_kept_aside_where_somebody_went_on_meanwhile(
    sqlite_records: str, bring: Callable[..., Any]
) -> None:
    add_demo_machine("dunlin")
    case = sent()
    bring(case)
    kept = FaultCase.objects.get()
    by = Adding(name="Bo Reed", uid=uuid4())
    case_file(kept, by).append("finding", check="armed: supply in range", word="on")
    case["lines"].append(line(check="armed: feed free", word="off"))
    case["status"] = "closed"
    assert bring(case).answers == 1
    last = lines_of(kept)[-1].entry
    assert (last.kind, last["of"], last["said"]) == ("aside", "armed: feed free", "finding")
    kept.refresh_from_db()
    assert kept.status == "open"


def test_the_case_opens_on_the_version_that_the_card_was_made_of(
    sqlite_records: str, bring: Callable[..., Any]
) -> None:
    dunlin = add_demo_machine("dunlin")
    version = dunlin.versions.get()
    bring(sent(digest=version.digest))
    assert FaultCase.objects.get().version_id == version.pk


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"uid": "x"}, "uid"),
        ({"machine": "Nobody"}, "machine"),
        ({"status": "done"}, "status"),
        ({"extra": 1}, "extra"),
        ({"lines": 3}, "lines"),
        ({"lines": [line(check="a", word="on", uid="")]}, "lines[0].uid"),
        ({"lines": [line(check="a", word="on", at="yesterday")]}, "lines[0].at"),
        ({"lines": [line(check="a")]}, "lines[0].word"),
        ({"lines": [line(check="a" * 300, word="on")]}, "lines[0].check"),
        ({"lines": [line(check="a", word="on", reading="12 V")]}, "lines[0].reading"),
        ({"lines": [line(kind="repair", repair="a", word="x", failed_at=0)]}, "lines[0].failed_at"),
        ({"lines": [line(kind="undo", of=1)]}, "lines[0].kind"),
        ({"lines": [line(check="a", word="o\0n")]}, "lines[0].word"),
    ],
)
def test_what_cannot_be_is_told_and_nothing_is_stored(
    sqlite_records: str, bring: Callable[..., Any], changed: dict[str, Any], field: str
) -> None:
    add_demo_machine("dunlin")
    with pytest.raises(ImportRefusedError) as refused:
        bring(sent(), sent(**changed))
    assert any(field in one.field for one in refused.value.problems), str(refused.value)
    assert FaultCase.objects.count() == 0


def test_an_id_of_another_machines_case_is_refused(
    sqlite_records: str, bring: Callable[..., Any]
) -> None:
    add_demo_machine("dunlin")
    add_demo_machine("curlew")
    case = sent()
    bring(case)
    with pytest.raises(ImportRefusedError, match="the id of a case of another machine"):
        bring(case | {"machine": "Curlew"})
