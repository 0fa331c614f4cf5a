"""The findings of a yard as a file: one table for each pass, peak, timed stop or found metal."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tripmargin.ground.errors import Problem, QuantityError, TripmarginError, nearest, shortened
from tripmargin.ground.languages import say
from tripmargin.ground.os_words import os_words
from tripmargin.ground.quantities import quantity
from tripmargin.machine import Machine
from tripmargin.machine.positions import positions
from tripmargin.recordings.calibrating.observations import (
    MetalFound,
    Observation,
    PeakRead,
    StopMeasured,
    TestPass,
)
from tripmargin.recordings.recording import RecordingError
from tripmargin.sensing.pieces import Piece
from tripmargin.stopping import metal_speed

MOST = 10_000_000  # bytes; a findings file is written by hand


class FindingsError(TripmarginError, ValueError):
    """A findings file that cannot be read as it stands; `.problems` holds all that is wrong."""

    def __init__(self, problems: list[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in problems))


@dataclass(frozen=True, slots=True)
class _Field:
    dimension: str  # of ground.units; "piece", "flag" or "text" else
    needed: bool = True


_PASS = {
    "piece": _Field("piece"),
    "across": _Field("length"),
    "height": _Field("length"),
    "cut": _Field("length", needed=False),
    "speed": _Field("speed", needed=False),
    "place_doubt": _Field("length", needed=False),
}
_ASIDE = {
    "on": _Field("text", needed=False),
    "by": _Field("text", needed=False),
    "note": _Field("text", needed=False),
}
FIELDS: Mapping[str, Mapping[str, _Field]] = {
    "pass": {**_PASS, "caught": _Field("flag"), **_ASIDE},
    "peak": {**_PASS, "peak": _Field("voltage"), "at": _Field("text", needed=False), **_ASIDE},
    "found": {
        "piece": _Field("piece"),
        "cut": _Field("length"),
        "before_bar": _Field("length"),
        "across": _Field("length", needed=False),
        "height": _Field("length", needed=False),
        **_ASIDE,
    },
    "stop": {"cut": _Field("length"), "time": _Field("time"), **_ASIDE},
    "have": {"piece": _Field("piece"), "note": _Field("text", needed=False)},
}
"""Tables of a findings file and their fields."""


def read_findings(path: Path, machine: Machine) -> list[Observation]:
    """The observations of a findings file, in its order by table.

    Parameters
    ----------
    path : Path
        A TOML file of `[[pass]]`, `[[peak]]`, `[[found]]` and `[[stop]]` tables; `[[have]]`, a test
        piece of the yard, is no finding (`read_pieces`). Quantities are text with a unit. A stop's
        time has its 95 % limits behind it: "62 ms +- 3 ms".
    machine : Machine
        For the speed of the metal at a cut length.

    Raises
    ------
    FindingsError
        Every problem with file, line and field.
    """
    return [each for each in _read(path, machine) if not isinstance(each, Piece)]


def read_pieces(path: Path, machine: Machine) -> tuple[Piece, ...]:
    """The yard's own test pieces: the `[[have]]` tables of a findings file, each once.

    Raises
    ------
    FindingsError
        As `read_findings`.
    """
    return tuple(dict.fromkeys(one for one in _read(path, machine) if isinstance(one, Piece)))


def _read(path: Path, machine: Machine) -> list[Observation | Piece]:
    text = _text(path)
    try:
        tables = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise _refusal(
            path.name, say("not TOML: {error}", error=error), say("[[pass]] tables and such")
        ) from None
    reading = _Reading(path.name, text, machine)
    made = reading.all(tables)
    if reading.problems:
        raise FindingsError(reading.problems)
    return made


def append_finding(path: Path, kind: str, values: Mapping[str, str | bool]) -> None:
    """Add one table at the end of a findings file, on the disk before this returns.

    What stands in the file already is not touched.
    """
    lines = [f"[[{kind}]]"]
    for name, value in values.items():
        written = ("true" if value else "false") if isinstance(value, bool) else _quoted(value)
        lines.append(f"{name} = {written}")
    with path.open("a+b") as file:
        begins = file.tell() == 0
        file.write((("" if begins else "\n") + "\n".join(lines) + "\n").encode())
        file.flush()
        os.fsync(file.fileno())


def _quoted(text: str) -> str:
    import json

    return json.dumps(text, ensure_ascii=False)


def _refusal(file: str, problem: str, allowed: str) -> FindingsError:
    return FindingsError([Problem(file, None, "", "", problem, allowed)])


def _text(path: Path) -> str:
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise _refusal(
            path.name,
            say("cannot be read ({strerror})", strerror=os_words(error)),
            say("a file that you may read"),
        ) from None
    if len(raw) > MOST:
        raise _refusal(
            path.name, say("{count} bytes", count=len(raw)), say("up to {most} bytes", most=MOST)
        )
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _refusal(path.name, say("not a text"), say("a text in UTF-8")) from None


class _Reading:
    """One file's reading: every problem is kept, so that all are told at once."""

    def __init__(self, file: str, text: str, machine: Machine) -> None:
        self.file, self.machine = file, machine
        self.problems: list[Problem] = []
        self._text = text
        self._lines: dict[Any, int] | None = None

    def all(self, tables: Mapping[str, Any]) -> list[Observation | Piece]:
        made: list[Observation | Piece] = []
        for kind, rows in tables.items():
            if kind not in FIELDS:
                near = nearest(kind, list(FIELDS))
                hint = say('Did you mean "{near}"?', near=near) if near else ""
                allowed = ", ".join(f"[[{each}]]" for each in FIELDS)
                self._problem((kind,), "", say("no such table"), allowed, hint)
                continue
            if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
                self._problem(
                    (kind,), "", say("one table"), say("[[{kind}]], in double brackets", kind=kind)
                )
                continue
            for index, row in enumerate(rows):
                one = self._row(kind, (kind, index), row)
                if one is not None:
                    made.append(one)
        if not made and not self.problems:
            self._problem(
                (), "", say("nothing in it"), say("[[pass]], [[peak]], [[found]] or [[stop]]")
            )
        return made

    def _row(
        self, kind: str, place: tuple[Any, ...], row: dict[str, Any]
    ) -> Observation | Piece | None:
        before = len(self.problems)
        fields = FIELDS[kind]
        for name in row:
            if name not in fields:
                near = nearest(name, list(fields))
                hint = say('Did you mean "{near}"?', near=near) if near else ""
                self._problem(
                    (*place, name), row[name], say("no such field"), ", ".join(fields), hint
                )
        values = {
            name: self._value((*place, name), field, row[name])
            for name, field in fields.items()
            if name in row
        }
        missing = [name for name, field in fields.items() if field.needed and name not in row]
        if kind in ("pass", "peak") and ("cut" in row) == ("speed" in row):
            missing.append(say("cut or speed, one of the two"))
        if missing:
            self._problem(
                place, "", say("missing: {missing}", missing=", ".join(missing)), say("all of them")
            )
        if len(self.problems) > before:
            return None
        try:
            return _MADE[kind](self, values)
        except (RecordingError, ValueError) as error:
            self._problem(place, "", str(error).rstrip("."), "")
            return None

    def _value(self, path: tuple[Any, ...], field: _Field, seen: Any) -> Any:
        try:
            if field.dimension == "flag":
                if isinstance(seen, bool):
                    return seen
                self._problem(path, seen, say("neither true nor false"), say("true or false, bare"))
            elif field.dimension == "text":
                return str(seen)
            elif not isinstance(seen, str):
                self._problem(
                    path, seen, say("a bare value"), say('a text with its unit, such as "20 mm"')
                )
            elif field.dimension == "piece":
                return Piece.from_text(seen)
            else:
                return quantity(seen, field.dimension)
        except QuantityError as error:
            self._problem(path, seen, error.problem, error.allowed, error.hint)
        except ValueError as error:
            self._problem(path, seen, str(error).rstrip("."), "")
        return None

    def speed(self, values: Mapping[str, Any]) -> float:
        if "speed" in values:
            return float(values["speed"].nominal)
        return metal_speed(self.machine, values["cut"].nominal)

    def _problem(
        self, path: tuple[Any, ...], value: Any, problem: str, allowed: str, hint: str = ""
    ) -> None:
        if self._lines is None:
            self._lines = dict(positions(self._text.encode()))
        line = next(
            (self._lines[path[:n]] for n in range(len(path), 0, -1) if path[:n] in self._lines),
            None,
        )
        field = ".".join(str(part + 1) if isinstance(part, int) else part for part in path)
        seen = shortened(repr(value)) if value != "" else ""
        self.problems.append(Problem(self.file, line, field, seen, problem, allowed, hint))


def _pass(reading: _Reading, v: Mapping[str, Any]) -> dict[str, Any]:
    more = {"place_doubt": v["place_doubt"].nominal} if "place_doubt" in v else {}
    where = {"x": v["across"].nominal, "height": v["height"].nominal}
    return {"piece": v["piece"], "speed": reading.speed(v), **where, **more}


def _test_pass(reading: _Reading, v: Mapping[str, Any]) -> Observation:
    return TestPass(**_pass(reading, v), caught=v["caught"])


def _peak(reading: _Reading, v: Mapping[str, Any]) -> Observation:
    return PeakRead(**_pass(reading, v), peak=v["peak"].nominal, at=v.get("at", "output"))


def _found(_: _Reading, v: Mapping[str, Any]) -> Observation:
    lay = v["before_bar"]
    more = {"doubt": lay.sd} if lay.uncertain else {}
    return MetalFound(
        v["piece"],
        v["cut"].nominal,
        lay.nominal,
        x=v["across"].nominal if "across" in v else None,
        height=v["height"].nominal if "height" in v else None,
        **more,
    )


def _stop(_: _Reading, v: Mapping[str, Any]) -> Observation:
    time = v["time"]
    if not time.uncertain:
        raise RecordingError(
            say(
                'time = "{text}" has no limits; write them, such as "{text} +- 3 ms"',
                text=time.text,
            )
        )
    return StopMeasured(v["cut"].nominal, time.nominal, time.low, time.high)


_MADE: Mapping[str, Callable[[_Reading, Mapping[str, Any]], Observation | Piece]] = {
    "have": lambda _, v: v["piece"],
    "pass": _test_pass,
    "peak": _peak,
    "found": _found,
    "stop": _stop,
}
