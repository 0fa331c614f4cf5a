"""What the log of a machine tells of its sensor and its stop, as a calibration takes it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import TYPE_CHECKING
from uuid import UUID

from tripmargin.ground.languages import say, say_many
from tripmargin.machine import differences
from tripmargin.records.standing.asked import loaded_of
from tripmargin.records.standing.finding_words import across_words, finding_words, left_out
from tripmargin.records.standing.in_force import entries_in_force
from tripmargin.records.standing.meanings import is_work
from tripmargin.records.standing.measured import LEFT_SD
from tripmargin.records.standing.stamps import day_of

if TYPE_CHECKING:
    from tripmargin.recordings import MetalFound, StopMeasured, TestPass
    from tripmargin.records.store.models import Entry, Machine, MachineVersion

    Observation = TestPass | StopMeasured | MetalFound

__all__ = ["Finding", "Findings", "across_words", "findings_of"]

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
            why = say("a pawl was set anew on {day}", day=day_of(entry.at))
        else:
            part = str(entry.values.get("part", ""))
            parts = [what for what, words in _PARTS.items() if words.search(part)]
            why = say("“{part}” was replaced on {day}", part=part, day=day_of(entry.at))
            unknown += [] if parts else [entry]
        for what in parts:
            if entry.at >= since[what].at:
                since[what] = _Since(entry.at, why)
    notes = []
    if unknown:
        last = unknown[-1]
        values = {"part": last.values.get("part", ""), "day": day_of(last.at)}
        if len(unknown) > 1:
            replaced = say_many(
                "“{part}” was replaced on {day}, and 1 more part before: by their names they are"
                " neither of the sensing nor of the stop, so what was found before counts too.",
                "“{part}” was replaced on {day}, and {count} more parts before: by their names"
                " they are neither of the sensing nor of the stop, so what was found before counts"
                " too.",
                len(unknown) - 1,
                **values,
            )
        else:
            replaced = say(
                "“{part}” was replaced on {day}: by its name it is neither of the sensing nor of"
                " the stop, so what was found before counts too.",
                **values,
            )
        mend = say("If it is, take those entries back or pass the pieces anew.")
        notes.append(f"{replaced} {mend}")
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
            values = {"number": newer.number, "field": changed[0], "day": day_of(newer.added_at)}
            if len(changed) > 1:
                why = say(
                    "version {number} of the file changed {field} and {more} more on {day}",
                    more=len(changed) - 1,
                    **values,
                )
            else:
                why = say("version {number} of the file changed {field} on {day}", **values)
            return _Since(newer.added_at, why)
    return _EVER


def _newest(machine: Machine, kind: str, notes: list[str]) -> list[Entry]:
    """Entries of a kind, oldest first, the newest that are looked at."""
    found = list(entries_in_force(machine, kind).order_by("-at", "-pk")[: MOST + 1])
    if len(found) > MOST:
        notes.append(
            say(
                "Only the newest {most} entries of the kind “{kind}” are looked at.",
                most=MOST,
                kind=kind,
            )
        )
    return found[:MOST][::-1]


def _in_time(entries: Sequence[Entry], kind: str, since: _Since, notes: list[str]) -> list[Entry]:
    """Those since a moment; how many came before it is said."""
    kept = [one for one in entries if one.at >= since.at]
    if left := len(entries) - len(kept):
        notes.append(left_out(left, kind, say("{why}.", why=since.why)))
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
    words = (finding_words(entry, us=False), finding_words(entry, us=True))
    used.append(Finding(number, entry.uid, entry.kind, entry.at, entry.who_name, words, made))


def _gathered(notes: Iterable[str]) -> Iterable[str]:
    """The notes, one for each reason for which entries were left out."""
    counts: dict[str, int] = {}
    for note in notes:
        counts[note] = counts.get(note, 0) + 1
    for note, count in counts.items():
        kind, found, why = note.partition("\0")
        yield left_out(count, kind, why) if found else note


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
        return say(
            "the cut length in use is not in it, and the stop hangs on it. Correct the entry."
        )
    if not sd:
        return say("its standard deviation is not in it, so it weighs nothing. Correct the entry.")
    try:
        return StopMeasured(cut, time, time - _TWO_SIDES * sd, time + _TWO_SIDES * sd)
    except RecordingError as error:
        return str(error)


def _found_of(entry: Entry) -> Observation | str:
    from tripmargin.recordings import MetalFound, RecordingError
    from tripmargin.sensing.pieces import Piece

    size, cut = entry.values.get("size_m"), entry.values.get("cut_length_m")
    if size is None or cut is None:
        if size is None:
            return say("where the metal lay is in it, but not its size. Correct the entry.")
        return say(
            "where the metal lay is in it, but not its cut length in use. Correct the entry."
        )
    try:
        return MetalFound(Piece.ball(size), cut, entry.values["left_m"], doubt=LEFT_SD)
    except (RecordingError, ValueError) as error:
        return str(error)
