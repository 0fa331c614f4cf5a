"""What is said at once to whoever entered what cannot wait, or can hardly be right."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from uuid import UUID

from django.utils import timezone

from tripmargin.ground.languages import later, say
from tripmargin.ground.units import shown
from tripmargin.records.standing.against_proof import closer_than_calculated
from tripmargin.records.standing.gaps_in_file import all_words, measured_gaps
from tripmargin.records.standing.meanings import AFTER, BEFORE, FAILED, STOP, outcome
from tripmargin.records.standing.pawl_names import pawl_said
from tripmargin.records.standing.refreshing import is_stale
from tripmargin.records.standing.stamps import day_of
from tripmargin.records.store.models import Entry, Standing

HOUR, LOOKED_BACK = 3600.0, 60
BEYOND = later(
    "The metal lay past the shear bar, so it reached the knives: it was stopped too late, or not"
    " at all. If that is so, correct the entry to missed metal; if not, correct the distance."
)


@dataclass(frozen=True, slots=True)
class Said:
    """A sentence, and what mends it.

    `mend` is "find" what is wrong, "correct" the entry, "gaps" into the machine's file, or nothing
    here.
    """

    words: str
    mend: str
    uid: UUID


def may_say(entry: Entry) -> bool:
    """Whether there may be something that has to be seen first: cheap, from the entry alone."""
    if entry.kind == "daily check":
        return bool(outcome(entry.values) == FAILED)
    return entry.kind in ("missed metal", "trip", "adjustment")


def after_entry(entry: Entry, *, us: bool = False) -> tuple[Said, ...]:
    """What an entry asks for at once; mostly nothing."""
    said = []
    failed = entry.kind == "daily check" and outcome(entry.values) == FAILED
    if failed or entry.kind == "missed metal":
        said.append(Said(say(STOP), "find", entry.uid))
    if entry.kind == "trip":
        proof = getattr(entry.version, "proof", None)
        closer = closer_than_calculated(entry.at, entry.values, proof.summary) if proof else None
        if closer is not None:
            said.append(Said(closer.words(us=us), "find", entry.uid))
        beyond = entry.values.get("left_m", 0.0) < 0
        if beyond or entry.values.get("through"):
            said.append(Said(say(STOP), "find", entry.uid))
        if beyond:
            said.append(Said(say(BEYOND), "correct", entry.uid))
    said += [Said(words, "", entry.uid) for words in _gaps_outside(entry, us)]
    said += _gaps_other_than_filed(entry, us)
    hours = _doubtful_hours(entry)
    if hours:
        said.append(Said(hours, "correct", entry.uid))
    return tuple(said)


def _gaps_outside(entry: Entry, us: bool) -> Iterator[str]:
    """Gaps as found, and as left, outside the window of the machine's file."""
    standing = Standing.objects.filter(machine=entry.machine_id).first()
    asked = standing.facts.get("asked") if standing is not None else None
    if entry.kind != "adjustment" or not asked:
        return
    low, high = asked["clearance_m"]
    window = say(
        "{low} to {high}", low=shown(low, "length", us=us), high=shown(high, "length", us=us)
    )
    for key, gap in sorted(entry.values.items()):
        when, _, pawl = key.partition("/")
        if f"{when}/" in (BEFORE, AFTER) and not low <= gap <= high:
            values = {"pawl": pawl_said(pawl), "gap": shown(gap, "length", us=us), "window": window}
            if when == "gap_before_m":
                yield say(
                    "The gap of the {pawl} pawl was found at {gap}; the file's window is {window}."
                    " The machine ran so until now, and its stop was not the one calculated.",
                    **values,
                )
            else:
                yield say(
                    "The gap of the {pawl} pawl was left at {gap}; the file's window is {window}."
                    " Set it anew before the machine works.",
                    **values,
                )


def _gaps_other_than_filed(entry: Entry, us: bool) -> Iterator[Said]:
    """Gaps of this entry, the newest measured, that the machine's file has otherwise."""
    if entry.kind != "adjustment":
        return
    standing = Standing.objects.filter(machine=entry.machine_id).first()
    if standing is None or is_stale(standing):
        return
    mine = [
        gap
        for gap in measured_gaps(standing.facts, timezone.now())
        if gap.uid == str(entry.uid) and gap.is_other
    ]
    if mine:
        yield Said(all_words(mine, us=us), "gaps", entry.uid)


def _doubtful_hours(entry: Entry) -> str:
    """Whether the hour meter ran backwards, or faster than time, since it was entered before."""
    now = entry.values.get("hours_s")
    if now is None:
        return ""
    earlier = (
        Entry.objects.filter(machine=entry.machine_id, at__lte=entry.at, corrected_by__isnull=True)
        .exclude(pk=entry.pk)
        .order_by("-at", "-id")
        .values_list("at", "values")[:LOOKED_BACK]
    )
    for at, values in earlier:
        before = values.get("hours_s")
        if before is None:
            continue
        ran, passed = now - before, (entry.at - at).total_seconds()
        if -HOUR / 10 <= ran <= passed + HOUR:
            return ""
        values = {"before": _hours(before), "day": day_of(at), "now": _hours(now)}
        if ran < 0:
            return say(
                "The hour meter ran backwards: {before} on {day}, now {now}. Is that right? A new"
                " meter is worth a note.",
                **values,
            )
        return say(
            "The hour meter ran faster than time: {before} on {day}, now {now}. Is that right? A"
            " new meter is worth a note.",
            **values,
        )
    return ""


def _hours(seconds: float) -> str:
    return shown(seconds, "running hours", digits=7)
