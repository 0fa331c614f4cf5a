"""Machines' problems, worked out beside the pages: once each, and the last few kept in memory.

A problem takes a second or two from what is kept on the disk and some ten the first time. So a page
asks for it, says that it is being read, and comes back; nobody's page waits.
"""

from __future__ import annotations

import logging
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache

from tripmargin.faultfinding import MachineProblem, machine_problem
from tripmargin.faultfinding.suspects.kept_folder import keep_what_is_worked_out
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import later
from tripmargin.ground.languages.each import InEach, in_each
from tripmargin.ground.languages.phrases import Phrase, Words
from tripmargin.ground.patience import TooLongError, at_most
from tripmargin.machine import Machine, digest_of
from tripmargin.records.keeping.machines import machine_of
from tripmargin.records.store.models import MachineVersion

REMEMBERED = 4
"""Problems kept in a process, some 70 MB each."""
LONGEST = 120.0
"""s of one core. What no machine's problem may take here: others wait for theirs. Those of the demo
machines take some 12, one as large as records/keeping/sizes.py lets in some 70."""
FIRST_TIME = 10.0
"""s. What a problem takes that was never worked out; measured on the demo machines."""

TOO_LARGE = later(
    "The wiring of {machine} is too large for a server that others use: it was given up after"
    " {seconds:.0f} s of work. Leave out of its file what no fault hangs on, or find the fault on"
    " the command line (tripmargin find-fault), which takes as long as it needs. The case and all"
    " its entries are safe."
)
OUR_MISTAKE = later(
    "The faults of {machine} cannot be worked out: {error}. This is a mistake of ours. The case and"
    " all its entries are safe."
)
_log = logging.getLogger(__name__)


@dataclass(slots=True)
class Reading:
    """One machine's problem, there or on its way."""

    started: float = field(default_factory=time.monotonic)
    done: threading.Event = field(default_factory=threading.Event)
    problem: MachineProblem | None = None
    trouble: Words | InEach = ""
    """Why there is none; to be said by whoever shows it, for it outlives the language of one."""
    for_good: bool = False
    """Whether a second try would end as the first did."""

    @property
    def seconds(self) -> float:
        """How long it has been on its way."""
        return time.monotonic() - self.started


class Keeper:
    """Works out each machine's problem once, one after the other, in a thread of its own."""

    def __init__(
        self,
        read: Callable[[Machine], MachineProblem],
        most: int = REMEMBERED,
        longest: float = LONGEST,
    ) -> None:
        self._read, self._most, self._longest = read, most, longest
        self._known: OrderedDict[str, Reading] = OrderedDict()
        self._lock, self._turn = threading.Lock(), threading.Lock()

    def ask(self, machine: Machine) -> Reading:
        """The machine's problem; where it is not there yet, work on it begins. Never waits.

        One that failed is tried again when it is asked for after its trouble was handed out; one
        that took too long is not, as long as it is remembered.
        """
        name = digest_of(machine)
        with self._lock:
            reading = self._known.get(name)
            if reading is not None:
                self._known.move_to_end(name)
                if reading.trouble and not reading.for_good:
                    del self._known[name]
                return reading
            reading = self._known[name] = Reading()
            self._let_go()
        threading.Thread(target=self._work, args=(reading, machine), daemon=True).start()
        return reading

    def _let_go(self) -> None:
        """Forget the ones not asked for longest, none that is still on its way.

        When one is done too: whoever opens every machine's page one after the other would else
        have all of them in memory.
        """
        there = [name for name, each in self._known.items() if each.done.is_set()]
        for name in there[: max(len(there) - self._most, 0)]:
            del self._known[name]

    def _work(self, reading: Reading, machine: Machine) -> None:
        try:
            # Two at once would each take twice as long, and the memory of both.
            with self._turn, at_most(self._longest):
                reading.problem = self._read(machine)
        except TooLongError as error:
            reading.for_good = True
            reading.trouble = Phrase(TOO_LARGE, {"machine": machine.name, "seconds": error.seconds})
        except TripmarginError as error:
            reading.trouble = self._why_in_each(machine, str(error))
        except Exception as error:
            _log.exception("The faults of %s cannot be worked out", machine.name)
            about = {"machine": machine.name, "error": type(error).__name__}
            reading.trouble = Phrase(OUR_MISTAKE, about)
        finally:
            with self._lock:
                reading.done.set()
                self._let_go()

    def _why_in_each(self, machine: Machine, why: str) -> InEach:
        """An error in every language: it is said where it is raised, so it is raised in each."""
        return InEach(in_each(lambda: self._why(machine) or why))

    def _why(self, machine: Machine) -> str:
        """Why the machine cannot be read; empty where it can be, or where that takes too long."""
        try:
            with at_most(self._longest):
                self._read(machine)
        except TooLongError:
            return ""
        except TripmarginError as error:
            return str(error)
        return ""


@cache
def _keeper() -> Keeper:
    """The one of this process."""
    keep_what_is_worked_out()
    return Keeper(lambda machine: machine_problem(machine, remember=False))


def problem_of(version: MachineVersion) -> Reading:
    """The problem of a machine's version, there or on its way."""
    return problem_on(machine_of(version))


def problem_on(machine: Machine) -> Reading:
    """The problem of a machine, there or on its way."""
    return _keeper().ask(machine)
