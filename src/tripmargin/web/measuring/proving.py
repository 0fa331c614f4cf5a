"""Machines proved beside the pages: a page asks, says that it is on its way, and comes back."""

from __future__ import annotations

import logging
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import language, say, speaking
from tripmargin.ground.patience import TooLongError, at_most
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.protection import Proof, prove

LONGEST = 120.0
"""s of one core for two proofs; those of the demo machines take some 8."""
REMEMBERED = 12
_log = logging.getLogger(__name__)


@dataclass(slots=True)
class Work:
    """Some machines' proofs, there or on their way."""

    done: threading.Event = field(default_factory=threading.Event)
    proofs: dict[str, Proof] = field(default_factory=dict)
    trouble: str = ""


class Prover:
    """Proves what it is asked for once, one after the other, in a thread of its own."""

    def __init__(self, one: Callable[[LoadedMachine], Proof] = prove) -> None:
        self._prove = one
        self._known: OrderedDict[str, Work] = OrderedDict()
        self._lock, self._turn = threading.Lock(), threading.Lock()

    def ask(self, key: str, machines: Mapping[str, LoadedMachine]) -> Work:
        """The proofs of these machines by name; where they are not there yet, work begins.

        Never waits. What failed is tried again when it is asked for after its trouble was told.
        """
        with self._lock:
            work = self._known.get(key)
            if work is not None:
                self._known.move_to_end(key)
                if work.trouble:
                    del self._known[key]
                return work
            work = self._known[key] = Work()
            there = [name for name, each in self._known.items() if each.done.is_set()]
            for name in there[: max(len(there) - REMEMBERED, 0)]:
                del self._known[name]
        asked = (work, dict(machines), language())
        threading.Thread(target=self._work, args=asked, daemon=True).start()
        return work

    def _work(self, work: Work, machines: Mapping[str, LoadedMachine], spoken: str) -> None:
        with speaking(spoken):  # a thread begins in English
            self._prove_all(work, machines)

    def _prove_all(self, work: Work, machines: Mapping[str, LoadedMachine]) -> None:
        try:
            with self._turn, at_most(LONGEST):
                made = {name: self._prove(machine) for name, machine in machines.items()}
            work.proofs = made
        except TooLongError as error:
            work.trouble = say(
                "It was given up after {seconds:.0f} s of work.", seconds=error.seconds
            )
        except TripmarginError as error:
            work.trouble = str(error)
        except Exception as error:
            _log.exception("A machine cannot be proved")
            work.trouble = say(
                "This cannot be proved: {error}, a mistake of ours.", error=type(error).__name__
            )
        finally:
            work.done.set()


PROVER = Prover()
"""The one of this process."""
