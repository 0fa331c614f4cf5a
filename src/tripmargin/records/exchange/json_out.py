"""The records as JSON: machines with every version, type sheets, entries; one item a line."""

from __future__ import annotations

import base64
import json
from collections.abc import Callable, Iterator, Sequence
from typing import Any, BinaryIO

from tripmargin.records.exchange.cells import one_way
from tripmargin.records.exchange.leaving import Leaving, entries_leaving, moment
from tripmargin.records.kinds import KINDS
from tripmargin.records.store.models import Machine, Photo, TypeSheet

WHAT, FORMAT = "records", 1


def write_json(
    file: BinaryIO, machines: Sequence[Machine] | None = None, *, photos: bool = False
) -> int:
    """Write these machines, or all, with their entries; how many entries there were.

    People stand in it by their names only. To be called in a `snapshot`, for it reads many times.
    """
    count = 0

    def entries() -> Iterator[dict[str, Any]]:
        nonlocal count
        for one in entries_leaving(machines):
            count += 1
            yield _entry(one, photos)

    parts: tuple[tuple[str, Callable[[], Iterator[dict[str, Any]]]], ...] = (
        ("type_sheets", lambda: _type_sheets(machines)),
        ("machines", lambda: _machines(machines)),
        ("entries", entries),
    )
    file.write(f'{{"tripmargin": "{WHAT}", "format": {FORMAT}'.encode())
    for name, items in parts:
        file.write(f',\n"{name}": ['.encode())
        for place, item in enumerate(items()):
            text = json.dumps(item, ensure_ascii=False, allow_nan=False)
            file.write(b",\n" * bool(place) or b"\n")
            file.write(text.encode())
        file.write(b"\n]")
    file.write(b"}\n")
    return count


def entry_as_json(one: Leaving) -> dict[str, Any]:
    """An entry in SI, without its photos."""
    kind = KINDS.get(one.kind)
    values = {
        key: one_way(kind.field_of(key) if kind else None, one.values[key])
        for key in sorted(one.values)
    }
    return {
        "uid": str(one.uid),
        "machine": one.machine,
        "kind": one.kind,
        "at": moment(one.at),
        "received_at": moment(one.received_at),
        "clock_ahead_s": None if one.clock_ahead_s is None else one.clock_ahead_s + 0.0,
        "who": one.who,
        "values": values,
        "note": one.note,
        "corrects": str(one.corrects) if one.corrects else None,
        "version": one.version,
        "source": one.source,
    }


def _entry(one: Leaving, photos: bool) -> dict[str, Any]:
    made = entry_as_json(one)
    if photos:
        kept = Photo.objects.filter(entry_id=one.pk).order_by("id")
        made["photos"] = [_photo(photo) for photo in kept.iterator(chunk_size=1)]
    return made


def _photo(photo: Photo) -> dict[str, Any]:
    return {
        "uid": str(photo.uid),
        "content_type": photo.content_type,
        "width": photo.width,
        "height": photo.height,
        "added_at": moment(photo.added_at),
        "content": base64.b64encode(bytes(photo.content)).decode(),
    }


def _machines(machines: Sequence[Machine] | None) -> Iterator[dict[str, Any]]:
    chosen = Machine.objects.order_by("id")
    if machines is not None:
        chosen = chosen.filter(pk__in=[one.pk for one in machines])
    for one in chosen:
        yield {
            "uid": str(one.uid),
            "name": one.name,
            "created_at": moment(one.created_at),
            "put_away_at": moment(one.put_away_at) if one.put_away_at else None,
            "versions": [
                {
                    "number": version.number,
                    "file_name": version.file_name,
                    "text": version.text,
                    "copy": _sorted(version.copy),
                    "digest": version.digest,
                    "note": version.note,
                    "added_at": moment(version.added_at),
                    "added_by": version.added_by_name,
                }
                for version in one.versions.order_by("number")
            ],
        }


def _type_sheets(machines: Sequence[Machine] | None) -> Iterator[dict[str, Any]]:
    sheets = TypeSheet.objects.order_by("id")
    if machines is not None:
        sheets = sheets.filter(name__in=_sheets_used(machines))
    for sheet in sheets:
        yield {
            "name": sheet.name,
            "versions": [
                {
                    "number": version.number,
                    "text": version.text,
                    "digest": version.digest,
                    "added_at": moment(version.added_at),
                    "added_by": version.added_by_name,
                }
                for version in sheet.versions.order_by("number")
            ],
        }


def _sheets_used(machines: Sequence[Machine]) -> set[str]:
    copies = (version.copy for one in machines for version in one.versions.all())
    return {sheet["name"] for copy in copies for sheet in copy.get("sheets", [])}


def _sorted(copy: Any) -> Any:
    """With its keys in one order: PostgreSQL keeps them in one of its own."""
    return json.loads(json.dumps(copy, sort_keys=True))
