"""Loading a machine: its file, its type sheets, its checks."""

from __future__ import annotations

import os
from dataclasses import replace
from importlib import resources
from pathlib import Path
from typing import Any

from tripmargin.ground.errors import MachineFileError, Problem, nearest
from tripmargin.ground.languages import say
from tripmargin.machine.agreement import disagreements
from tripmargin.machine.files import Sheet, line_of, merged, read_sheets
from tripmargin.machine.model import SECTIONS, Machine
from tripmargin.machine.own_words import ASSUMED_NOISE
from tripmargin.machine.reading import Findings, dotted, read_table

DEMO_MACHINES = ("dunlin", "curlew", "whimbrel", "sanderling")
FORMAT = 1


def demo_machines() -> tuple[str, ...]:
    """The names of the demo machines, all invented.

    >>> demo_machines()
    ('dunlin', 'curlew', 'whimbrel', 'sanderling')
    """
    return DEMO_MACHINES


def load_machine(path_or_demo_name: str | os.PathLike[str]) -> Machine:
    """Load a machine from its file, or a demo machine by its name.

    Raises
    ------
    MachineFileError
        With every problem found, each with file, line, field, value, what is allowed and how to
        mend it.

    Examples
    --------
    >>> load_machine("curlew").machine.name
    'Curlew'
    """
    name = os.fspath(path_or_demo_name)
    path = _path_of(name)
    if not _exists(path):
        near = nearest(name.lower(), DEMO_MACHINES)
        hint = (
            say('Did you mean the demo machine "{near}"?', near=near)
            if near
            else say("Looked at: {path}", path=path)
        )
        allowed = say(
            "a machine file, or a demo machine: {machines}", machines=", ".join(DEMO_MACHINES)
        )
        raise MachineFileError(
            [Problem(str(name), None, "", "", say("no such file"), allowed, hint)]
        )
    return machine_from(read_sheets(path), str(name))


def _path_of(name: str) -> Path:
    return demo_path(name) if name in DEMO_MACHINES and not _exists(Path(name)) else Path(name)


def _exists(path: Path) -> bool:
    """Whether a file is there; a name that no file can have is not."""
    try:
        return path.exists()
    except (OSError, ValueError):
        return False


def demo_path(name: str) -> Path:
    """The file of a demo machine."""
    return Path(str(resources.files("tripmargin.machine") / "demo" / f"{name}.toml"))


def place_of(
    path_or_demo_name: str | os.PathLike[str], field: str | tuple[str, ...]
) -> tuple[str, int | None]:
    """The file and the line that give a field of a machine that loads; dotted, or its parts."""
    name = os.fspath(path_or_demo_name)
    path = tuple(field.split(".")) if isinstance(field, str) else field
    return line_of(read_sheets(_path_of(name)), path)


def machine_from(sheets: tuple[Sheet, ...], file: str) -> Machine:
    """A machine from its sheets, the machine's own first."""
    tables = merged(sheets)
    found = Findings()
    version = tables.pop("format", FORMAT)
    if version != FORMAT:
        found.add(("format",), version, say("another format than this version reads"), "1")
    for key in tables:
        if key not in SECTIONS:
            near = nearest(key, list(SECTIONS))
            found.add(
                (key,),
                None,
                say("unknown section or key"),
                ", ".join(SECTIONS),
                say('Did you mean "{near}"?', near=near) if near else "",
            )
    sections: dict[str, Any] = {}
    for section, (cls, _) in SECTIONS.items():
        raw = tables.get(section)
        if section == "machine" and (raw is None or isinstance(raw, dict)):
            raw = {"name": Path(file).stem} | (raw or {})
        if raw is None and section == "limits":
            raw = {}
        sections[section] = None if raw is None else read_table(cls, raw, (section,), found)
    if not found.problems:
        machine = _with_assumed_noise(Machine(**sections, assumed=tuple(found.assumed), file=file))
        for field, value, problem, allowed, hint in disagreements(machine):
            found.add(tuple(field.split(".")), value, problem, allowed, hint)
        if not found.problems:
            return machine
    raise MachineFileError([_problem(sheets, *problem) for problem in found.problems])


def _problem(
    sheets: tuple[Sheet, ...],
    path: tuple[str | int, ...],
    value: str,
    problem: str,
    allowed: str,
    hint: str,
) -> Problem:
    file, line = line_of(sheets, path)
    return Problem(file, line, dotted(path), value, problem, allowed, hint)


def _with_assumed_noise(machine: Machine) -> Machine:
    """Noise that nobody gave is assumed in proportion to the threshold: 2 to 10 % of it."""
    detector = machine.detector
    if detector is None or detector.threshold is None or detector.noise is not None:
        return machine
    threshold = detector.threshold.nominal
    noise = replace(
        detector.threshold,
        nominal=0.06 * threshold,
        low=0.02 * threshold,
        high=0.1 * threshold,
        shape="rectangular",
        text=ASSUMED_NOISE,
        source="assumed",
    )
    return replace(
        machine,
        detector=replace(detector, noise=noise),
        assumed=(*machine.assumed, "detector.noise"),
    )
