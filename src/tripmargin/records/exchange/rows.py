"""Tables as lines of JSON and back: every column of every row as it is."""

from __future__ import annotations

import base64
import json
from collections.abc import Iterator
from datetime import datetime
from typing import Any
from uuid import UUID

from django.apps import apps as installed
from django.db import models

NOT_KEPT = ("standing", "signinattempt", "limitedact")
"""Where a machine stands is worked out anew; tries to sign in are forgotten within the hour."""
_FEW, _MANY = 4, 1000  # rows at a time, of tables with photos and without


def tables(apps: Any = installed) -> list[Any]:
    """The models that are kept, each after those that it points at."""
    waiting = [one for one in apps.get_app_config("records").get_models()
               if one._meta.model_name not in NOT_KEPT]  # fmt: skip
    done: list[Any] = []
    while waiting:
        ready = [one for one in waiting if _points_at(one).isdisjoint(set(waiting) - {one})]
        if not ready:
            raise RuntimeError("tables point at each other in a circle")
        ready.sort(key=lambda one: one._meta.model_name)
        done += ready
        waiting = [one for one in waiting if one not in ready]
    return done


def _points_at(model: Any) -> set[Any]:
    return {field.related_model for field in model._meta.concrete_fields if field.is_relation}


def lines_of(model: Any) -> Iterator[bytes]:
    """Each row as a line of JSON, in the order of their keys."""
    fields = model._meta.concrete_fields
    names = [field.attname for field in fields]
    binary = any(isinstance(field, models.BinaryField) for field in fields)
    rows = model._base_manager.order_by("pk").values_list(*names)
    for row in rows.iterator(chunk_size=_FEW if binary else _MANY):
        made = dict(zip(names, map(_out, row), strict=True))
        yield json.dumps(made, ensure_ascii=False, allow_nan=False).encode() + b"\n"


def row_of(model: Any, line: bytes) -> Any:
    """A row of a line, not saved yet.

    Raises
    ------
    ValueError
        If the line is none of this table's.
    """
    given = json.loads(line)
    fields = {field.attname: field for field in model._meta.concrete_fields}
    if not isinstance(given, dict) or set(given) != set(fields):
        raise ValueError(f"not the columns {', '.join(fields)}")
    return model(**{name: _in(fields[name], value) for name, value in given.items()})


def _out(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, UUID):
        return str(value)
    if isinstance(value, bytes | memoryview):
        return base64.b64encode(bytes(value)).decode("ascii")
    return value


def _in(field: Any, value: Any) -> Any:
    if value is None:
        return None
    if isinstance(field, models.DateTimeField):
        return datetime.fromisoformat(value)
    if isinstance(field, models.UUIDField):
        return UUID(value)
    if isinstance(field, models.BinaryField):
        return base64.b64decode(value, validate=True)
    return value
