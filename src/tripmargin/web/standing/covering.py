"""What a machine's daily check finds, worked out beside the pages and kept with its version.

It takes the machine's whole fault-finding problem, some ten seconds the first time. So the page
that wants it says what is assumed meanwhile, and nobody waits.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable

from django.db import DatabaseError, connection

from tripmargin.faultfinding import MachineProblem
from tripmargin.faultfinding.charts.dangerous import dangerous_coverage
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages.each import in_each
from tripmargin.records.standing.asked import asked_of
from tripmargin.records.standing.daily_coverage import (
    BECAUSE,
    LEAVES_OPEN,
    is_wanted,
    keep_coverage,
    kept_coverage,
)
from tripmargin.records.store.models import MachineVersion
from tripmargin.web.whats_wrong.keeper import Reading, problem_of

_log = logging.getLogger(__name__)
Ask = Callable[[MachineVersion], Reading]


class Covering:
    """Works out each version once, in a thread of its own; `ask` gives a machine's problem."""

    def __init__(self, ask: Ask = problem_of) -> None:
        self._ask = ask
        self._going: dict[tuple[int, str], threading.Thread] = {}
        self._lock = threading.Lock()

    def want(self, version: MachineVersion | None) -> bool:
        """Whether it is on its way; work begins where it is wanted and can be done. Never waits."""
        if version is None or not is_wanted(asked_of(version), kept_coverage(version)):
            return False
        key = (version.pk, version.digest)
        with self._lock:
            if key not in self._going:
                thread = threading.Thread(target=self._work, args=(key, version), daemon=True)
                self._going[key] = thread
                thread.start()
        return True

    def wait(self, seconds: float) -> None:
        """Wait for what is on its way, at most so long each."""
        with self._lock:
            going = list(self._going.values())
        for thread in going:
            thread.join(seconds)

    def _work(self, key: tuple[int, str], version: MachineVersion) -> None:
        try:
            summary = self._summary(version)
            # Only where it is still this version: the records may be others by now.
            if MachineVersion.objects.filter(pk=version.pk, digest=version.digest).exists():
                keep_coverage(version, summary)
        except DatabaseError as error:
            _log.warning("What the check of version %s finds is not kept: %s", version.pk, error)
        finally:
            connection.close()
            with self._lock:
                del self._going[key]

    def _summary(self, version: MachineVersion) -> dict[str, object]:
        reading = self._ask(version)
        reading.done.wait()
        if reading.problem is None:
            return {BECAUSE: in_each(lambda: str(reading.trouble))}
        of = reading.problem
        try:
            found = dangerous_coverage(of).to_dict()
            # Kept for readers of every language, so the faults are named in each.
            return found | {LEAVES_OPEN: in_each(lambda: [*dangerous_coverage(of).leaves_open])}
        except TripmarginError:
            return {BECAUSE: in_each(lambda: _why_not(of))}


def _why_not(of: MachineProblem) -> str:
    try:
        dangerous_coverage(of)
    except TripmarginError as error:
        return str(error)
    return ""


covering = Covering()
