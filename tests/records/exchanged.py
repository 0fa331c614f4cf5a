"""Entries of every kind with every nasty text, for hypothesis."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

from hypothesis import strategies as st

from tests.records.machines import NAMES
from tripmargin.records.kinds import KINDS, WITHDRAWN, Field

NASTY = st.sampled_from(
    ["=1+1", "+1", "-1", "@x", "\tx", "\rx", "\nx", "'", "'=", "''=1", "'tis", "a,b;c", 'say "no"',
     "line\r\nline", "\r", "\n", " ", " =1", "ß€😀", "\ufeff", "\uff1d1", "NULL", "1,5", "\x1a",
     "\x85", "a;=1", "a;'=1", 'a;"=1;', "a\t'\"@b", "a;;\n+1"]
)  # fmt: skip
LETTERS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=30)
TEXTS = st.one_of(NASTY, LETTERS)
NAME = TEXTS.filter(lambda text: text != "")
PIECES = ["16 mm ball", "1/2 in stainless ball", "M8x30 bolt along", "8 mm x 120 mm rod upright"]
TIMES = st.datetimes(datetime(1970, 1, 2), datetime(2026, 1, 1)).map(
    lambda at: at.replace(tzinfo=UTC)
)


def value_of(field: Field) -> st.SearchStrategy[Any]:
    if field.what == "yes or no":
        return st.booleans()
    if field.what == "choice":
        return st.sampled_from(list(field.choices))
    if field.piece:
        return st.sampled_from(PIECES)
    if field.what == "text":
        return NAME
    return st.one_of(
        st.floats(field.low, field.high, allow_nan=False),
        st.sampled_from([field.low, field.high, -0.0 if field.low <= 0 else field.low]),
    )


@st.composite
def values(draw: Any, name: str) -> dict[str, Any]:
    kind = KINDS[name]
    made: dict[str, Any] = {}
    for field in kind.fields:
        if field.family:
            for key in draw(st.lists(NAME, max_size=2)):
                made[f"{field.key}{key}"] = draw(value_of(field))
        elif field.required or draw(st.booleans()):
            made[field.key] = draw(value_of(field))
    first = kind.fields[0]
    return made or {f"{first.key}lower" if first.family else first.key: draw(value_of(first))}


@st.composite
def entries(draw: Any) -> list[dict[str, Any]]:
    """Entries as keyword arguments of the model; `corrects` is a place in the list."""
    made: list[dict[str, Any]] = []
    free: dict[str, list[int]] = {name: [] for name in NAMES}  # not corrected yet
    for place, uid in enumerate(draw(st.lists(st.uuids(), max_size=6, unique=True))):
        machine = draw(st.sampled_from(NAMES))
        target = draw(st.sampled_from(free[machine])) if free[machine] and draw(
            st.booleans()) else None  # fmt: skip
        kinds = [*KINDS, WITHDRAWN] if target is not None else list(KINDS)
        kind = draw(st.sampled_from(kinds))
        at = draw(TIMES)
        one = {
            "uid": UUID(int=uid.int),
            "machine": machine,
            "kind": kind,
            "at": at,
            "received_at": at + timedelta(microseconds=draw(st.integers(0, 10**9))),
            "clock_ahead_s": draw(st.none() | st.floats(-1e6, 1e6, allow_subnormal=False)),
            "who_name": draw(TEXTS)[:60],
            "values": {} if kind == WITHDRAWN else draw(values(kind)),
            "note": draw(TEXTS),
            "source": draw(st.sampled_from(["web", "command line", "=x"])),
            "corrects": target,
        }
        if target is not None:
            free[machine].remove(target)
        free[machine].append(place)
        made.append(one)
    return made


def write(made: list[dict[str, Any]], *, versions: bool = True) -> None:
    """Put them into the records in use, as they are."""
    from tripmargin.records.store.models import Entry, Machine

    machines = {one.name: one for one in Machine.objects.all()}
    kept: list[Entry] = []
    for one in made:
        target = one["corrects"]
        machine = machines[one["machine"]]
        entry = Entry(
            **one | {"machine": machine, "corrects": None if target is None else kept[target]},
            version=machine.versions.first() if versions else None,
        )
        entry.save(force_insert=True)
        kept.append(entry)
