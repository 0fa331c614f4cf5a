"""The lines of a text file: decoded one by one, none longer than a limit."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path

from tripmargin.ground.languages import say
from tripmargin.records.exchange.troubles import Troubles

LONGEST_LINE = 1_000_000  # bytes


class Lines:
    """The lines of a UTF-8 file, and the SHA-256 of what was read."""

    def __init__(self, path: Path, troubles: Troubles) -> None:
        self.path, self.troubles = path, troubles
        self.number = 0
        self.sha256 = hashlib.sha256()

    def __iter__(self) -> Iterator[str]:
        """Raise `ImportRefusedError` at a line that is no text, or too long."""
        with self.path.open("rb") as file:
            while line := file.readline(LONGEST_LINE + 1):
                self.number += 1
                self.sha256.update(line)
                if len(line) > LONGEST_LINE:
                    self.troubles.stop(
                        self.number,
                        say("the line is too long"),
                        say("a line of at most {most} kB", most=LONGEST_LINE // 1000),
                        say("Is this the right file?"),
                    )
                try:
                    yield line.decode("utf-8-sig" if self.number == 1 else "utf-8")
                except UnicodeDecodeError as error:
                    seen = line[error.start]
                    self.troubles.stop(
                        self.number,
                        say(
                            "not UTF-8: byte 0x{byte:02X} at place {place}",
                            byte=seen,
                            place=error.start + 1,
                        ),
                        say("text in UTF-8"),
                        say(
                            'Save it again as "CSV UTF-8"; an old spreadsheet writes its own code.'
                        ),
                    )
