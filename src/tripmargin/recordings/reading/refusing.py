"""How a file is refused: where, the value seen, what is allowed, how to mend it."""

from __future__ import annotations

from pathlib import Path

from tripmargin.ground.errors import Problem, shortened
from tripmargin.ground.languages import say
from tripmargin.recordings.recording import RecordingError


def refusal(
    path: Path,
    problem: str,
    *,
    line: int | None = None,
    where: str = "",
    value: str | None = None,
    allowed: str = "",
    hint: str = "",
) -> RecordingError:
    """The error for a person to act on.

    >>> print(refusal(Path("a.csv"), "no number", line=3, where="column 2 (U)", value="x"))
    a.csv:3: column 2 (U) = "x": no number.
    """
    seen = "" if value is None else f'"{shortened(value)}"'
    return RecordingError(
        str(
            Problem(
                path.name, line, where or ("value" if seen else ""), seen, problem, allowed, hint
            )
        )
    )


def needs_extra(path: Path, kind: str, module: str) -> RecordingError:
    """The error where an optional library is missing."""
    return refusal(
        path,
        say(
            "reading {kind} needs the library {module}, which is not installed",
            kind=kind,
            module=module,
        ),
        allowed=say("CSV, WAV and FLAC without it"),
        hint=say('Install it with: pip install "tripmargin[loggers]"'),
    )
