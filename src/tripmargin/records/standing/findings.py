"""What the log of a machine tells of its sensor and its stop, as a calibration takes it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import TYPE_CHECKING, Any
from uuid import UUID

from tripmargin.ground.units import shown
from tripmargin.machine import differences
from tripmargin.records.standing.asked import loaded_of
from tripmargin.records.standing.in_force import entries_in_force
from tripmargin.records.standing.meanings import is_work
from tripmargin.records.standing.measured import LEFT_SD
from tripmargin.records.standing.stamps import day_of

if TYPE_CHECKING:
    from tripmargin.recordings import MetalFound, StopMeasured, TestPass
    from tripmargin.records.store.models import Entry, Machine, MachineVersion

    Observation = TestPass | StopMeasured | MetalFound

MOST = 200
"""Entries of a kind, the newest: each pass is worked out by itself."""
METAL = ("test piece", "bolt or nut", "wire", "tine", "tool", "knife or part")
SENSING, STOPPING = "the sensing", "the stop"
_TWO_SIDES = 1.959964  # of a normal distribution: 95 %
_FIELDS = {SENSING: ("sensor.", "detector."), STOPPING: ("chain.",)}
_PARTS = {
    SENSING: re.compile(
        r"\b(sensor|magnets?|coils?|detector|amplifier|module|control (box|unit)|rolls?)\b", re.I
    ),
    STOPPING: re.compile(
        r"\b(relays?|pawls?|springs?|solenoid|plunger|ratchet|winding|valve|clutch|diode"
        r"|detector|module|control (box|unit))\b",
        re.I,
    ),
}


@dataclass(frozen=True, slots=True)
class Finding:
    """One entry that is learned from.

    Attributes
    ----------
    number
        Of a test pass, from 1, as a calibration counts them; 0 of anything else.
    uid, kind, at, who
        Of the entry.
    words
        What it says, metric and US.
    observation
        As `tripmargin.recordings.calibrate` takes it.
    """

    number: int
    uid: UUID
    kind: str
    at: datetime
    who: str
    words: tuple[str, str]
    observation: Observation


@dataclass(frozen=True, slots=True)
class Findings:
    """What is learned from, and what is not.

    Attributes
    ----------
    used : tuple of Finding
        Test passes first, oldest first.
    notes : tuple of str
        What was left out and why, in sentences.
    """

    used: tuple[Finding, ...]
    notes: tuple[str, ...]

    @property
    def observations(self) -> list[Observation]:
        """As `calibrate` takes them."""
        return [one.observation for one in self.used]

    @property
    def key(self) -> tuple[UUID, ...]:
        """The same for the same findings: an entry is never changed."""
        return tuple(one.uid for one in self.used)


def findings_of(machine: Machine) -> Findings:
    """The findings in force in a machine's log that tell of the machine as it is now.

    Test passes count since the sensor or the detector was last replaced, or changed in the file;
    timed stops since that happened to a part of the stop, or a pawl was set anew; found metal since
    either. So what was learned and kept in the file is not learned a second time.
    """
    notes: list[str] = []
    since, told = _since(machine)
    notes += told
    rows = {kind: _newest(machine, kind, notes) for kind in ("test pass", "stop time", "trip")}
    passes = _in_time(rows["test pass"], "test pass", since[SENSING], notes)
    stops = _in_time(rows["stop time"], "stop time", since[STOPPING], notes)
    both = max(since.values(), key=lambda each: each.at)
    trips = _in_time([one for one in rows["trip"] if _tells(one)], "trip", both, notes)
    used: list[Finding] = []
    for entry in passes:
        _add(used, entry, _pass_of(entry), notes, number=len(used) + 1)
    for entry in stops:
        _add(used, entry, _stop_of(entry), notes)
    for entry in trips:
        _add(used, entry, _found_of(entry), notes)
    return Findings(tuple(used), tuple(_gathered(notes)))


@dataclass(frozen=True, slots=True)
class _Since:
    at: datetime
    why: str


_EVER = _Since(datetime.fromisoformat("1970-01-01T00:00:00+00:00"), "")


def _since(machine: Machine) -> tuple[dict[str, _Since], list[str]]:
    """From when on findings tell of the machine as it is, and what could not be told."""
    since = {what: _changed_in_file(machine, what) for what in _FIELDS}
    unknown: list[Entry] = []
    for entry in entries_in_force(machine, "part replaced", "adjustment").order_by("at"):
        if entry.kind == "adjustment":
            parts = [STOPPING] if is_work(entry.kind, entry.values) else []
            why = f"a pawl was set anew on {day_of(entry.at)}"
        else:
            part = str(entry.values.get("part", ""))
            parts = [what for what, words in _PARTS.items() if words.search(part)]
            why = f"“{part}” was replaced on {day_of(entry.at)}"
            unknown += [] if parts else [entry]
        for what in parts:
            if entry.at >= since[what].at:
                since[what] = _Since(entry.at, why)
    notes = []
    if unknown:
        last = unknown[-1]
        notes.append(
            f"“{last.values.get('part', '')}” was replaced on {day_of(last.at)}"
            + (f", and {len(unknown) - 1} more parts before" if len(unknown) > 1 else "")
            + ": by its name it is neither of the sensing nor of the stop, so what was found before"
            " counts too. If it is, take those entries back or pass the pieces anew."
        )
    return since, notes


def _changed_in_file(machine: Machine, what: str) -> _Since:
    """When the file was last changed in the fields that findings of this kind speak of."""
    versions: list[MachineVersion] = list(machine.versions.defer("text").order_by("-number"))
    for newer, older in pairwise(versions):
        changed = [
            one.field
            for one in differences(loaded_of(older), loaded_of(newer))
            if one.field.startswith(_FIELDS[what])
        ]
        if changed:
            why = f"version {newer.number} of the file changed {changed[0]}"
            if len(changed) > 1:
                why += f" and {len(changed) - 1} more"
            return _Since(newer.added_at, f"{why} on {day_of(newer.added_at)}")
    return _EVER


def _newest(machine: Machine, kind: str, notes: list[str]) -> list[Entry]:
    """Entries of a kind, oldest first, the newest that are looked at."""
    found = list(entries_in_force(machine, kind).order_by("-at", "-pk")[: MOST + 1])
    if len(found) > MOST:
        notes.append(f"Only the newest {MOST} entries of the kind “{kind}” are looked at.")
    return found[:MOST][::-1]


def _in_time(entries: Sequence[Entry], kind: str, since: _Since, notes: list[str]) -> list[Entry]:
    """Those since a moment; how many came before it is said."""
    kept = [one for one in entries if one.at >= since.at]
    if left := len(entries) - len(kept):
        notes.append(f"{_counted(left, kind)} left out: {since.why}.")
    return kept


def _tells(trip: Entry) -> bool:
    """Whether a trip says where metal lay: those that do not are no findings at all."""
    return "left_m" in trip.values and trip.values.get("found") in METAL


def _add(
    used: list[Finding], entry: Entry, made: Observation | str, notes: list[str], number: int = 0
) -> None:
    if isinstance(made, str):
        notes.append(f"{entry.kind}\0{made}")  # counted and said once for each reason
        return
    words = (_words(entry, us=False), _words(entry, us=True))
    used.append(Finding(number, entry.uid, entry.kind, entry.at, entry.who_name, words, made))


def _gathered(notes: Iterable[str]) -> Iterable[str]:
    """The notes, one for each reason for which entries were left out."""
    counts: dict[str, int] = {}
    for note in notes:
        counts[note] = counts.get(note, 0) + 1
    for note, count in counts.items():
        kind, found, why = note.partition("\0")
        yield f"{_counted(count, kind)} left out: {why}" if found else note


def _pass_of(entry: Entry) -> Observation | str:
    from tripmargin.recordings import RecordingError, TestPass
    from tripmargin.sensing.pieces import Piece

    values = entry.values
    more = {"place_doubt": values["place_doubt_m"]} if "place_doubt_m" in values else {}
    try:
        return TestPass(
            Piece.from_text(values["piece"]), x=values["across_m"], height=values["height_m"],
            speed=values["speed_m_s"], caught=values["caught"], **more,
        )  # fmt: skip
    except (RecordingError, ValueError) as error:
        return str(error)


def _stop_of(entry: Entry) -> Observation | str:
    from tripmargin.recordings import RecordingError, StopMeasured

    cut, sd, time = (entry.values.get(key) for key in ("cut_length_m", "sd_s", "stop_time_s"))
    if cut is None:
        return "the cut length in use is not in it, and the stop hangs on it. Correct the entry."
    if not sd:
        return "its standard deviation is not in it, so it weighs nothing. Correct the entry."
    try:
        return StopMeasured(cut, time, time - _TWO_SIDES * sd, time + _TWO_SIDES * sd)
    except RecordingError as error:
        return str(error)


def _found_of(entry: Entry) -> Observation | str:
    from tripmargin.recordings import MetalFound, RecordingError
    from tripmargin.sensing.pieces import Piece

    size, cut = entry.values.get("size_m"), entry.values.get("cut_length_m")
    if size is None or cut is None:
        lacks = "size" if size is None else "cut length in use"
        return f"where the metal lay is in it, but not its {lacks}. Correct the entry."
    try:
        return MetalFound(Piece.ball(size), cut, entry.values["left_m"], doubt=LEFT_SD)
    except (RecordingError, ValueError) as error:
        return str(error)


def _words(entry: Entry, *, us: bool) -> str:
    """What a finding says, in a line."""
    values: dict[str, Any] = entry.values

    def size(key: str) -> str:
        return shown(values[key], "length", us=us)

    if entry.kind == "test pass":
        side = across_words(values["across_m"], us=us)
        speed = shown(values["speed_m_s"], "speed", us=us, digits=3)
        said = "caught" if values["caught"] else "missed"
        return f"{values['piece']}, {side}, {size('height_m')} high, {speed}: {said}"
    if entry.kind == "stop time":
        time, sd = (shown(values[key], "time", us=us) for key in ("stop_time_s", "sd_s"))
        return f"{time}, standard deviation {sd}, at cut {size('cut_length_m')}"
    where = shown(abs(values["left_m"]), "length", us=us)
    lay = "past" if values["left_m"] < 0 else "before"
    return (
        f"{values['found']}, {size('size_m')} across, lay {where} {lay} the shear bar at cut"
        f" {size('cut_length_m')}"
    )


def across_words(x: float, *, us: bool) -> str:
    """A place across the roll, seen the way that the crop goes.

    >>> across_words(-0.163, us=False), across_words(0.0, us=False)
    ('163 mm left of the middle', 'in the middle')
    """
    if abs(x) < 0.5e-3:
        return "in the middle"
    side = "left" if x < 0 else "right"
    return f"{shown(abs(x), 'length', us=us)} {side} of the middle"


def _counted(count: int, kind: str) -> str:
    """How many entries of a kind: "1 trip is", "3 test passes are"."""
    many = {"test pass": "test passes", "stop time": "stop times"}.get(kind, f"{kind}s")
    return f"{count} {kind if count == 1 else many} {'is' if count == 1 else 'are'}"
