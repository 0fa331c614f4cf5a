"""What is due on a machine: why, since when, and what mends it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from tripmargin.ground.units import shown
from tripmargin.records.standing.conditions import (
    failed_since_passed,
    missed_since_passed,
    open_case,
    overdue_check,
    stop_time_beyond,
    unmended,
)
from tripmargin.records.standing.facts import Facts
from tripmargin.records.standing.gaps_in_file import all_words, to_be_filed
from tripmargin.records.standing.meanings import UNFINISHED
from tripmargin.records.standing.stamps import (
    Stamp,
    clock_trouble,
    day_of,
    how_long,
    is_later,
    moment,
    written_at,
)

MEND_FIRST, BEFORE_WORK, SOON, NOTHING = 1, 2, 3, 4
URGENCIES = {
    MEND_FIRST: "Mend first",
    BEFORE_WORK: "Before the next work",
    SOON: "Soon",
    NOTHING: "Nothing due",
}


OPEN_CASE, GAP_IN_FILE = "open case", "gap in file"


@dataclass(frozen=True, slots=True)
class Due:
    """One thing that is due.

    Attributes
    ----------
    what : str
        One word for it, such as "daily check".
    urgency : int
        A key of `URGENCIES`.
    sentence : str
        Why, in plain words.
    since : datetime or None
        From when on; None: from the beginning.
    mend : str
        The kind of entry that mends it; empty: the machine's own page says what to do.
    """

    what: str
    urgency: int
    sentence: str
    since: datetime | None = None
    mend: str = ""

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready."""
        return {
            "what": self.what,
            "urgency": URGENCIES[self.urgency],
            "sentence": self.sentence,
            "since": self.since and self.since.isoformat(),
            "mend": self.mend,
        }


def due_of(
    facts: Facts, now: datetime, *, verdict: str | None = None, us: bool = False
) -> tuple[Due, ...]:
    """What is due on a machine, the most urgent first.

    Parameters
    ----------
    facts : dict
        As `facts_of` makes them.
    now : datetime, aware
    verdict : str, optional
        What `prove` said of the machine's file; None: not worked out yet.
    us : bool
        Lengths in inches.
    """
    found = [
        *_check(facts, now),
        *_missed(facts, now),
        *_case(facts),
        *_work(facts),
        *_gaps(facts, now, us),
        *_gaps_in_file(facts, now, us),
        *_stop_time(facts, now),
        *_verdict(facts, verdict),
        *_clock(facts, now),
    ]
    return tuple(sorted(found, key=lambda one: (one.urgency, _order(one.since))))


def _order(since: datetime | None) -> float:
    return 0.0 if since is None else since.timestamp()


def _check(facts: Facts, now: datetime) -> Iterator[Due]:
    check = "daily check"
    if failed_since_passed(facts):
        failed = facts["failed"]
        yield Due(
            check, MEND_FIRST,
            f"The daily check of {day_of(written_at(failed))} failed: {failed['what']}. No check"
            " has passed since.",
            written_at(failed), check,
        )  # fmt: skip
        return
    over, every = overdue_check(facts, now), timedelta(seconds=facts["plan"]["check_every_s"])
    if over is None:
        return
    if over == timedelta.max:
        tried = facts["check"] is not None and facts["check"]["outcome"] == UNFINISHED
        words = (
            "The daily check was begun and never finished."
            if tried
            else "No daily check has been entered yet."
        )
        yield Due(check, BEFORE_WORK, words, None, check)
        return
    passed = moment(facts["passed"], now)
    assert passed is not None
    plan = "no plan entered, so" if "check_every_s" in facts["plan"]["assumed"] else "plan:"
    yield Due(
        check, BEFORE_WORK,
        f"The last daily check that passed was on {day_of(passed)}, {how_long(now - passed)} ago"
        f" ({plan} every {how_long(every)} of work).",
        passed + every, check,
    )  # fmt: skip


def _missed(facts: Facts, now: datetime) -> Iterator[Due]:
    missed = facts["missed"]
    if unmended(facts):
        why = {"not seen": "it never tripped", "too late": "it tripped too late"}.get(
            missed["why"], "nobody knows why"
        )
        checked = (
            "" if missed_since_passed(facts) else " A check has passed since, which does not say"
            " that such metal would be stopped now."
        )  # fmt: skip
        yield Due(
            "missed metal", MEND_FIRST,
            f"Metal was missed on {day_of(written_at(missed))} ({missed['found']}; {why}), and no"
            f" part or gap was changed since.{checked}",
            written_at(missed),
        )  # fmt: skip
    elif missed_since_passed(facts):
        yield Due(
            "missed metal", MEND_FIRST,
            f"Metal was missed on {day_of(written_at(missed))}; something was changed since, and no"
            " check has passed yet.",
            written_at(missed), "daily check",
        )  # fmt: skip


def _case(facts: Facts) -> Iterator[Due]:
    case = open_case(facts)
    if case:
        yield Due(
            OPEN_CASE, MEND_FIRST,
            f"{case}. Find it to the end before the machine works again.",
            datetime.fromisoformat(facts["case"]["begun_at"]),
        )  # fmt: skip


def _work(facts: Facts) -> Iterator[Due]:
    work = facts["work"]
    if not is_later(work, facts["passed"]):
        return
    part = facts["part"]
    is_part = part is not None and part["number"] == work["number"]
    what = f"{part['part']} was replaced" if is_part else "Pawl gaps were set anew"
    yield Due(
        "check after work", BEFORE_WORK,
        f"{what} on {day_of(written_at(work))}, and no daily check has passed since.",
        written_at(work), "daily check",
    )  # fmt: skip


def _gaps(facts: Facts, now: datetime, us: bool) -> Iterator[Due]:
    asked, gaps = facts["asked"], facts["gaps"]
    pawls = asked["pawls"] if asked else []
    if asked:
        for pawl, gap in gaps.items():
            yield from _gap_outside(pawl, gap, asked, us)
    never = [pawl for pawl in pawls if pawl not in gaps]
    if never:
        yield Due(
            "pawl gaps", SOON, f"Never measured: the gap of {_pawls(never)}.", None, "adjustment"
        )
    every = timedelta(seconds=facts["plan"]["gaps_every_s"])
    old = {pawl: at for pawl, gap in gaps.items() if (at := moment(gap, now)) and now - at > every}
    if old:
        oldest = min(old.values())
        yield Due(
            "pawl gaps", SOON,
            f"The gap of {_pawls(list(old))} was last measured on {day_of(oldest)},"
            f" {how_long(now - oldest)} ago (every {how_long(every)}).",
            oldest + every, "adjustment",
        )  # fmt: skip


def _gap_outside(pawl: str, gap: Stamp, asked: dict[str, Any], us: bool) -> Iterator[Due]:
    low, high = asked["clearance_m"]
    value = gap["m"]
    if low <= value <= high:
        return
    harm = "it hits late" if value > high else "it may drag on the ratchet"
    near = gap["step_m"] and min(abs(value - low), abs(value - high)) <= gap["step_m"] / 2
    assumed = ", assumed" if "limits.clearance" in asked["assumed"] else ""
    low_high = f"{shown(low, 'length', us=us)} to {shown(high, 'length', us=us)}{assumed}"
    yield Due(
        "pawl gaps", BEFORE_WORK,
        f"The gap of the {pawl} pawl was left at {shown(value, 'length', us=us)} on"
        f" {day_of(written_at(gap))}, outside {low_high}: {harm}."
        + (" By half a step of the gauge it may still be inside." if near else ""),
        written_at(gap), "adjustment",
    )  # fmt: skip


def _gaps_in_file(facts: Facts, now: datetime, us: bool) -> Iterator[Due]:
    apart = to_be_filed(facts, now)
    if apart:
        yield Due(GAP_IN_FILE, SOON, all_words(apart, us=us), min(gap.at for gap in apart))


def _pawls(names: list[str]) -> str:
    return f"the {' and the '.join(names)} pawl{'s' if len(names) > 1 else ''}"


def _stop_time(facts: Facts, now: datetime) -> Iterator[Due]:
    last, kind = facts["stop_time"], "stop time"
    if last is None:
        yield Due(kind, SOON, "The stop time was never measured.", None, kind)
        return
    if stop_time_beyond(facts):
        limit = facts["asked"]["stop_time_s"]
        assumed = ", assumed" if "limits.stop_time" in facts["asked"]["assumed"] else ""
        yield Due(
            kind, BEFORE_WORK,
            f"The stop took {shown(last['s'], 'time')} on {day_of(written_at(last))}, longer than"
            f" the {shown(limit, 'time')} allowed{assumed}.",
            written_at(last), kind,
        )  # fmt: skip
    at, every = moment(last, now), timedelta(seconds=facts["plan"]["stop_time_every_s"])
    if at is not None and now - at > every:
        yield Due(
            kind, SOON,
            f"The stop time was last measured on {day_of(at)}, {how_long(now - at)} ago (every"
            f" {how_long(every)}).",
            at + every, kind,
        )  # fmt: skip


def _verdict(facts: Facts, verdict: str | None) -> Iterator[Due]:
    if facts["version"] is None:
        yield Due("protection", SOON, "No machine file: nothing can be calculated.")
        return
    since = datetime.fromisoformat(facts["version"]["added_at"])
    said = {
        None: (SOON, "Whether it is protected has not been worked out yet: open its page."),
        "not protected": (MEND_FIRST, "By calculation the machine is not protected as set."),
        "doubtful": (SOON, "By calculation its protection is doubtful as set."),
        "not known": (SOON, "The machine file does not say enough to work its protection out."),
    }.get(verdict)
    if said is not None:
        yield Due("protection", *said, since)


def _clock(facts: Facts, now: datetime) -> Iterator[Due]:
    slots = ("last", "check", "passed", "failed", "stop_time", "work", "missed", "hours")
    told = {}
    for slot in slots:
        one = facts[slot]
        if one is not None and (trouble := clock_trouble(one, now)):
            told[one["number"]] = (one, trouble)
    for one, trouble in told.values():
        yield Due(
            "clock", SOON, f"The time of an entry, {written_at(one):%Y-%m-%d %H:%M}, {trouble}.",
            written_at(one), "note",
        )  # fmt: skip
