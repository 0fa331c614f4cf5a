"""A quiet run's noise into the log: a note, once, with what it stands on."""

from __future__ import annotations

from uuid import UUID, uuid4

from django.http import HttpRequest, HttpResponse

from tripmargin.records.keeping.entries import EntryConflictError, NewEntry, write_entry
from tripmargin.records.kinds import EntryError
from tripmargin.records.store.models import Machine, MachineVersion
from tripmargin.web.measuring.noise_looked import NoiseLooked
from tripmargin.web.measuring.noise_rows import noise_rows
from tripmargin.web.measuring.stop_into_log import to_log


def keep_noise(
    request: HttpRequest, machine: Machine, version: MachineVersion, looked: NoiseLooked
) -> HttpResponse | str:
    """Into the log, and the log's page; or why it cannot be taken."""
    try:
        uid = UUID(request.POST.get("uid", ""))
    except ValueError:
        uid = uuid4()
    new = NewEntry(
        kind="note", values={"text": note_text(looked, version.number)}, uid=uid,
        note=_stands_on(looked),
    )  # fmt: skip
    try:
        entry = write_entry(machine, new, who=request.user).entry
    except (EntryError, EntryConflictError) as error:
        return str(error)
    return to_log(machine, entry.uid)


def note_text(looked: NoiseLooked, version: int) -> str:
    """The answers in a few lines, SI."""
    assert looked.noise is not None
    lines = ["Noise of a quiet run, with its 95 % limits."]
    for row in noise_rows(looked.noise, version, us=False):
        ends = f" ({row.limits})" if row.limits else ""
        lines.append(f"{row.what}: {row.value}{ends}.")
    return "\n".join(lines)


def _stands_on(looked: NoiseLooked) -> str:
    """The file and how it was read, so that it can be found and read again."""
    recording = looked.recording
    assert recording is not None
    assert looked.noise is not None
    said = [f"From {recording.path.name}, SHA-256 {recording.sha256}."]
    said.append(f"Channel “{looked.noise.channel}”, {looked.noise.at}.")
    told = [
        f"{box.label}: {box.text}" for box in looked.boxes if box.text and box.text != box.guess
    ]
    if told:
        said.append(f"Said by hand: {'; '.join(told)}.")
    return " ".join(said)
