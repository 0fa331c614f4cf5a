"""Starting processes that write, and listening to them."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.reference import ROOT


class Writer:
    """A process of `writing.py`."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self.process = process

    def begin(self, first: int, behind: int) -> int:
        """Begin a round from one id to before another; the number of the process that writes."""
        assert self.process.stdin is not None
        self.process.stdin.write(f"{first} {behind}\n")
        self.process.stdin.flush()
        return int(self.next().removeprefix("child "))

    def next(self) -> str:
        """What it says next."""
        assert self.process.stdout is not None
        line = self.process.stdout.readline()
        assert line.endswith("\n"), "the writer ended"
        return line.strip()

    def until(self, word: str) -> list[int]:
        """The ids that it says before a word."""
        said = []
        while (line := self.next()) != word:
            if line.isdigit():
                said.append(int(line))
        return said


@contextmanager
def writer(folder: Path, address: str) -> Iterator[Writer]:
    """A process that writes to the records at an address; ended at the end."""
    environment = dict(os.environ) | {"PYTHONPATH": str(ROOT / "src"), "OPENBLAS_NUM_THREADS": "1"}
    environment.pop("DJANGO_SETTINGS_MODULE", None)
    with subprocess.Popen(
        [sys.executable, str(Path(__file__).with_name("writing.py")), str(folder), address],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=environment,
    ) as process:  # fmt: skip
        found = Writer(process)
        try:
            assert found.next() == "ready"
            yield found
        finally:
            process.kill()
