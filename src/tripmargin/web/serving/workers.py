"""Several processes on one port: a parent that starts them, and starts anew one that died."""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
import traceback
from collections.abc import Callable
from types import FrameType
from typing import NoReturn

from tripmargin.ground.languages import say
from tripmargin.web.serving.addresses import ServingError

# A worker that dies younger than this will hardly live longer the next time.
YOUNG, MOST_YOUNG = 5.0, 5
GRACE = 10.0  # s: what is under way may be finished; then a worker is killed

STOPPING = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]


def stop_on_signals() -> None:
    """Let SIGTERM and a closed terminal end the process as Ctrl-C does, by an exception."""

    def stop(number: int, _: FrameType | None) -> None:
        raise SystemExit(0)

    for each in STOPPING:
        signal.signal(each, stop)


class Workers:
    """Keeps `count` processes running that call `work`, until told to stop."""

    def __init__(self, count: int, work: Callable[[], None]) -> None:
        self.count, self.work = count, work
        self.started: dict[int, float] = {}
        self.young = 0
        # The parent alone holds the writing end: when it is gone, however it went, workers read
        # the end of the pipe and stop.
        self.reading, self.writing = os.pipe()

    def run(self) -> None:
        """Run until Ctrl-C or SIGTERM; nothing of the workers is left afterwards.

        Raises
        ------
        ServingError
            If workers die as fast as they are started.
        """
        stop_on_signals()
        try:
            for _ in range(self.count):
                self._start()
            while True:
                self._replace(*os.wait())
        except (SystemExit, KeyboardInterrupt):
            pass  # told to stop
        finally:
            for each in (*STOPPING, signal.SIGINT):
                signal.signal(each, signal.SIG_IGN)  # a second Ctrl-C leaves no worker behind
            self._stop()

    def _start(self) -> None:
        # A signal between the fork and the note of it would leave a worker that nobody stops.
        signal.pthread_sigmask(signal.SIG_BLOCK, (*STOPPING, signal.SIGINT))
        try:
            pid = os.fork()
            if pid == 0:
                self._be_a_worker()
            self.started[pid] = time.monotonic()
        finally:
            signal.pthread_sigmask(signal.SIG_UNBLOCK, (*STOPPING, signal.SIGINT))

    def _be_a_worker(self) -> NoReturn:
        """In the new process: work, and never return into the parent's code."""
        status = 1
        try:
            os.close(self.writing)
            # A terminal sends Ctrl-C to all; the parent alone heeds it, and tells us by SIGTERM.
            signal.signal(signal.SIGINT, signal.SIG_IGN)
            threading.Thread(target=self._follow_the_parent, daemon=True).start()
            signal.pthread_sigmask(signal.SIG_UNBLOCK, (*STOPPING, signal.SIGINT))
            self.work()
            status = 0
        except SystemExit:
            status = 0
        except BaseException:
            traceback.print_exc()
        finally:
            sys.stdout.flush()
            sys.stderr.flush()
            os._exit(status)

    def _follow_the_parent(self) -> None:
        os.read(self.reading, 1)  # returns when the last writing end is closed
        os.kill(os.getpid(), signal.SIGTERM)
        time.sleep(GRACE)
        os._exit(1)

    def _replace(self, pid: int, status: int) -> None:
        born = self.started.pop(pid, None)
        if born is None:
            return  # not one of ours
        self.young = self.young + 1 if time.monotonic() - born < YOUNG else 0
        if self.young > MOST_YOUNG:
            raise ServingError(
                say(
                    "The server's processes die as fast as they are started; the reason stands"
                    " above.\n  The records are safe. Start with --workers 1 to see it alone."
                )
            )
        code = os.waitstatus_to_exitcode(status)
        if code < 0:
            told = say(
                "A server process ({pid}) was ended by signal {signal}; another one is started.",
                pid=pid,
                signal=-code,
            )
        else:
            told = say(
                "A server process ({pid}) ended with {code}; another one is started.",
                pid=pid,
                code=code,
            )
        print(told, file=sys.stderr)
        self._start()

    def _stop(self) -> None:
        self._tell(signal.SIGTERM)
        deadline = time.monotonic() + GRACE
        while self.started and time.monotonic() < deadline:
            self._gather()
            time.sleep(0.02)
        self._tell(signal.SIGKILL)
        while self.started:
            self._gather()
            time.sleep(0.02)
        os.close(self.reading)
        os.close(self.writing)

    def _tell(self, number: int) -> None:
        for pid in self.started:
            os.kill(pid, number)

    def _gather(self) -> None:
        for pid in list(self.started):
            if os.waitpid(pid, os.WNOHANG)[0]:
                del self.started[pid]
