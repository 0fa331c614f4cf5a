"""A quiet run's noise into the log: a note, once, with what it stands on."""

from __future__ import annotations

from uuid import UUID, uuid4

from django.http import HttpRequest, HttpResponse

from tripmargin.ground.languages import say
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
    """The answers in a few lines, SI; `setting/noise_noted.py` reads them again."""
    assert looked.noise is not None
    lines = [say("Noise of a quiet run, with its 95 % limits.")]
    for row in noise_rows(looked.noise, version, us=False):
        told = {"what": row.what, "value": row.value, "limits": row.limits}
        if row.limits:
            lines.append(say("{what}: {value} ({limits}).", **told))
        else:
            lines.append(say("{what}: {value}.", **told))
    return "\n".join(lines)


def _stands_on(looked: NoiseLooked) -> str:
    """The file and how it was read, so that it can be found and read again."""
    recording = looked.recording
    assert recording is not None
    assert looked.noise is not None
    name, sha256 = recording.path.name, recording.sha256
    said = [say("From {name}, SHA-256 {sha256}.", name=name, sha256=sha256)]
    channel = looked.noise.channel
    if looked.noise.at == "output":
        said.append(say("Channel “{channel}”, output.", channel=channel))
    else:
        said.append(say("Channel “{channel}”, coil.", channel=channel))
    told = [
        f"{box.label}: {box.text}" for box in looked.boxes if box.text and box.text != box.guess
    ]
    if told:
        said.append(say("Said by hand: {told}.", told="; ".join(told)))
    return " ".join(said)
