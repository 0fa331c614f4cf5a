"""Entries as CSV: one row an entry, RFC 4180, UTF-8 without a byte order mark."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import BinaryIO

from tripmargin.records.exchange.cells import cell_of, protected
from tripmargin.records.exchange.columns import FIXED, any_field, field_keys
from tripmargin.records.exchange.leaving import entries_leaving, keys_occurring, moment
from tripmargin.records.kinds import KINDS
from tripmargin.records.store.models import Machine


def write_csv(file: BinaryIO, machines: Sequence[Machine] | None = None) -> int:
    """Write the entries of these machines, or of all; how many there were.

    To be called in a `snapshot`, for it reads twice.
    """
    keys = field_keys(keys_occurring(machines))
    anywhere = {key: any_field(key) for key in keys}
    text = io.TextIOWrapper(file, encoding="utf-8", newline="")
    rows = csv.writer(text, lineterminator="\r\n")
    rows.writerow([*FIXED, *map(protected, keys)])
    count = 0
    for one in entries_leaving(machines):
        count += 1
        kind = KINDS.get(one.kind)
        said = [one.who, str(one.corrects or ""), one.note, one.source]
        cells = [str(one.uid), *map(protected, (one.machine, one.kind)), moment(one.at),
                 moment(one.received_at), *map(protected, said)]  # fmt: skip
        for key in keys:
            field = kind.field_of(key) if kind else anywhere[key]
            cells.append(cell_of(field, one.values[key]) if key in one.values else "")
        rows.writerow(cells)
    text.flush()
    text.detach()
    return count
