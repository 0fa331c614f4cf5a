"""Questions of "would it stop?", chosen beside the pages: the race is run for hundreds of pieces.

Some ten seconds for a machine and a seed, so a page asks for them, says that they are being chosen,
and comes back; the last ones are kept, for a whole class gets the same.
"""

from __future__ import annotations

import logging
import threading
from collections import OrderedDict
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

from tripmargin.drills import WouldItStop, would_it_stop
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import ENGLISH, later, speaking
from tripmargin.ground.languages.each import InEach, in_each
from tripmargin.ground.languages.phrases import Phrase
from tripmargin.machine import Machine, digest_of
from tripmargin.web.whats_wrong.keeper import Reading

REMEMBERED = 24
OUR_MISTAKE = later(
    "The pieces for {machine} cannot be chosen: {error}. This is a mistake of ours."
)
"""Said when it is shown: the thread that meets it has no reader's language."""
_log = logging.getLogger(__name__)


@dataclass(slots=True)
class Questions:
    """Chosen once each, one after the other, in a thread of their own."""

    known: OrderedDict[tuple[Any, ...], Reading] = field(default_factory=OrderedDict)
    lock: threading.Lock = field(default_factory=threading.Lock)
    turn: threading.Lock = field(default_factory=threading.Lock)

    def ask(self, machine: Machine, seed: int, about: tuple[str, ...]) -> Reading:
        """The drill, there or on its way, as the `problem` of a reading. Never waits."""
        name = (digest_of(machine), seed, about)
        with self.lock:
            found = self.known.get(name)
            if found is not None:
                self.known.move_to_end(name)
                if found.trouble:
                    del self.known[name]  # the next one who asks has it tried again
                return found
            found = self.known[name] = Reading()
            there = [key for key, each in self.known.items() if each.done.is_set()]
            for key in there[: max(len(there) - REMEMBERED, 0)]:
                del self.known[key]
        work = threading.Thread(target=self._choose, args=(found, machine, seed, about))
        work.daemon = True
        work.start()
        return found

    def _choose(self, found: Reading, machine: Machine, seed: int, about: tuple[str, ...]) -> None:
        chosen: Any = None
        try:
            with self.turn, speaking(ENGLISH):
                chosen = would_it_stop(machine, seed=seed, about=about)
                with suppress(TripmarginError):  # a drill without a map is one all the same
                    chosen.map_of(chosen.questions[0])  # the first map takes seconds, not later
            found.problem = chosen
        except TripmarginError as error:
            why = str(error)
            found.trouble = InEach(in_each(lambda: _why(machine, seed, about) or why))
        except Exception as error:
            _log.exception("The pieces for %s cannot be chosen", machine.name)
            about_it = {"machine": machine.name, "error": type(error).__name__}
            found.trouble = Phrase(OUR_MISTAKE, about_it)
        finally:
            found.done.set()


def _why(machine: Machine, seed: int, about: tuple[str, ...]) -> str:
    """Why no pieces can be chosen, in the language spoken; empty where they can."""
    try:
        would_it_stop(machine, seed=seed, about=about)
    except TripmarginError as error:
        return str(error)
    return ""


@cache
def _questions() -> Questions:
    """Those of this process."""
    return Questions()


def questions_on(machine: Machine, seed: int, about: str = "") -> Reading:
    """The drill of a machine and a seed, there or on its way; `about`: kinds, one a line."""
    return _questions().ask(machine, seed, tuple(about.splitlines()))


def afresh(drill: WouldItStop) -> WouldItStop:
    """The same questions, none answered."""
    return replace(drill, answered=[])
