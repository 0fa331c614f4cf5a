"""Records with a little of everything, and a back-up of them."""

from __future__ import annotations

import json
from io import BytesIO
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from PIL import Image

from tests.records.machines import add_small_machines
from tripmargin.records.exchange.back_up import back_up
from tripmargin.records.exchange.rows import lines_of, tables


def fill() -> None:
    """Something in the tables that matter: people, machines, corrections, a photo, a case."""
    from tripmargin.records.keeping.entries import NewEntry, write_entry
    from tripmargin.records.keeping.photos import read_photo, write_entry_with_photos
    from tripmargin.records.store.models import CaseLine, FaultCase, Machine, Person

    Person.objects.create_user("Ann", "a-long-enough-one", role=4)
    add_small_machines()
    machine = Machine.objects.get(name="Knot")
    wrong = write_entry(machine, NewEntry(kind="hours", values={"hours_s": 3600.0})).entry
    write_entry(machine, NewEntry(kind="hours", values={"hours_s": 7200.5}, corrects=wrong))
    picture = BytesIO()
    Image.new("RGB", (40, 30), "white").save(picture, "PNG")
    write_entry_with_photos(
        machine,
        NewEntry(kind="note", values={"text": 'ä "\n\u2028'}),
        [read_photo(picture.getvalue())],
    )
    case = FaultCase.objects.create(
        machine=machine, version=machine.versions.get(), begun_by_name="Ann"
    )
    CaseLine.objects.create(case=case, content=b"\x00\xff\n", who_name="Ann")
    fill_practice()


def fill_practice() -> None:
    """A drill of a class, played to its end by a learner."""
    from django.utils import timezone

    from tripmargin.records.keeping.practices import On, Player, begin_practice, turn_at
    from tripmargin.records.store.models import ClassDrill, ClassLearner, PracticeClass

    room = PracticeClass.objects.create(
        name="Autumn", code="ABC", opened_by_name="Ann", ends_at=timezone.now()
    )
    drill = ClassDrill.objects.create(
        of_class=room, number=1, kind="fault", seed=7, demo="dunlin", machine_name="Dunlin"
    )
    bo = ClassLearner.objects.create(of_class=room, number=1, name="Bo", name_key="bo")
    by = Player(learner=bo, class_drill=drill)
    practice = begin_practice("fault", 7, On(demo="dunlin"), by=by, uid=UUID(int=7))
    with turn_at(practice, UUID(int=8)) as turn:
        turn.add("hand over", "", "handed over")
        turn.end({"points": 50.5, "ä": ["\u2028"]}, points=50.5, unsafe=1)


def everything() -> dict[str, list[Any]]:
    return {one._meta.model_name: [*map(json.loads, lines_of(one))] for one in tables()}


def sqlite_copy(request: pytest.FixtureRequest, folder: Path) -> str:
    path = folder / "other.sqlite3"
    path.write_bytes(request.getfixturevalue("sqlite_with_tables").read_bytes())
    return f"sqlite:///{path}"


@pytest.fixture
def filled(sqlite_records: str, tmp_path: Path) -> Path:
    """A back-up of records with a little of everything."""
    fill()
    path = tmp_path / "yard.zip"
    back_up(path)
    return path
