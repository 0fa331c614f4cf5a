"""A process that writes entries and says each id after it is on the disk.

Called with a folder for the records and the address of a database. Each line that it reads is a
round, a first id and one behind the last: a child is forked, its number is said, and it writes
entries with these ids, each of which it says. So a test may kill the child wherever it wants, and
twenty rounds cost one start.
"""

from __future__ import annotations

import os
import sys
from datetime import UTC, datetime
from uuid import UUID


def main() -> None:
    os.environ["TRIPMARGIN_HOME"], os.environ["TRIPMARGIN_DATABASE"] = sys.argv[1:3]
    from tripmargin.records.opening import open_records

    open_records()
    from django.db import connections

    from tripmargin.records.keeping.entries import NewEntry, names_of, write_entry
    from tripmargin.records.store.models import Machine

    machine = Machine.objects.get(name="Knot")
    names_of(machine)  # the machine is read once, before the children
    connections.close_all()  # a connection is no child's to share
    print("ready", flush=True)
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            print(f"child {os.getpid()}", flush=True)
            for number in range(*map(int, line.split())):
                new = NewEntry(
                    kind="note",
                    values={"text": f"note {number}"},
                    uid=UUID(int=number),
                    at=datetime(2026, 3, 1, 12, tzinfo=UTC),
                )
                written = write_entry(machine, new, who_name="Ann")
                print(written.entry.uid.int, flush=True)
            print("done", flush=True)
            os._exit(0)
        os.waitpid(child, 0)
        print("ended", flush=True)


if __name__ == "__main__":
    main()
