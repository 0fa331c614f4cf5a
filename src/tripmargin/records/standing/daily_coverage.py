"""How much of the dangerous failures a machine's daily check finds: worked out once and kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db import IntegrityError
from django.utils import timezone

from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.each import here
from tripmargin.ground.languages.own_words import as_written
from tripmargin.ground.languages.phrases import Phrase, Words
from tripmargin.ground.units import percent
from tripmargin.records.standing.asked import Asked
from tripmargin.records.standing.log_rows import Log
from tripmargin.records.standing.proving_versions import PROGRAM
from tripmargin.records.store.models import MachineVersion, VersionCoverage

ASSUMED = 0.9
"""Where nothing is worked out; no source."""
TOLD = 3
"""Faults named that the check leaves open."""
BECAUSE, LEAVES_OPEN = "because", "leaves_open"
"""What of a summary is words, kept in each language by its code."""


@dataclass(frozen=True, slots=True)
class CheckCoverage:
    """Share of dangerous failures that the daily check finds, and where the number is from."""

    value: float
    parts: tuple[Words, ...]
    """Where it is from, to be said when it is shown."""

    @property
    def notes(self) -> tuple[str, ...]:
        """Where the number is from, in sentences."""
        return tuple(str(part) for part in self.parts)


NOT_YET = CheckCoverage(
    ASSUMED,
    (
        Phrase(
            later(
                "Coverage of the daily check: not yet worked out, {assumed:g} assumed: it is taken"
                " to find {share:.0f} % of dangerous failures."
            ),
            {"assumed": ASSUMED, "share": 100 * ASSUMED},
        ),
    ),
)
NO_FILE = CheckCoverage(
    ASSUMED,
    (
        Phrase(
            later(
                "Coverage of the daily check: {assumed:g} assumed: it is taken to find"
                " {share:.0f} % of dangerous failures. It cannot be worked out, for the machine's"
                " file does not give both [circuit] and [checks]."
            ),
            {"assumed": ASSUMED, "share": 100 * ASSUMED},
        ),
    ),
)


def kept_coverage(version: MachineVersion | None) -> VersionCoverage | None:
    """What is kept of a version, by whatever program; None: not worked out yet."""
    return None if version is None else VersionCoverage.objects.filter(version=version).first()


def is_wanted(asked: Asked | None, kept: VersionCoverage | None) -> bool:
    """Whether it can be worked out of a version, and was not by this program."""
    return asked is not None and asked.checks and (kept is None or kept.program != PROGRAM)


def keep_coverage(version: MachineVersion, summary: Mapping[str, Any]) -> None:
    """Keep what was worked out of a version.

    Parameters
    ----------
    version : MachineVersion
    summary : mapping
        `DangerousCoverage.to_dict()`, or {"because": why there is none}; both words in each
        language (`ground.languages.each.in_each`).
    """
    made = {"summary": dict(summary), "program": PROGRAM, "worked_out_at": timezone.now()}
    try:
        VersionCoverage.objects.update_or_create(version=version, defaults=made)
    except IntegrityError:  # another process kept the same just now
        VersionCoverage.objects.filter(version=version).update(**made)


def coverage_in(log: Log, asked: Asked | None, kept: VersionCoverage | None) -> CheckCoverage:
    """The coverage of the daily check as this log has it.

    A check in which the lamps were not answered finds what shows in tripping and resetting alone.
    """
    if kept is None:
        return NOT_YET if asked is not None and asked.checks else NO_FILE
    found = kept.summary
    if BECAUSE in found:
        said = say(
            "Coverage of the daily check: {assumed:g} assumed. It could not be worked out: {why}",
            assumed=ASSUMED,
            why=_read(found[BECAUSE]),
        )
        return CheckCoverage(ASSUMED, (said,))
    checks = log.of("daily check")
    looked = sum(any(key.partition("/")[0] == "lamps" for key in row.values) for row in checks)
    share = looked / len(checks) if checks else 0.0
    feed, lamps = float(found["by_feed"]), float(found["with_lamps"])
    value = feed + share * (lamps - feed)
    notes = [
        say(
            "Coverage of the daily check: {share}, worked out from this machine's circuit and its"
            " check “{check}”: the share, by rate, of {faults} faults with which metal goes"
            " through or is stopped late. The rates are those of the machine's file, or the usual"
            " ones.",
            share=percent(value),
            check=as_written(found["daily"]),
            faults=found["faults"],
        ),
    ]
    if lamps > feed:
        notes.append(
            say(
                "Whether it trips and resets shows {feed}; with the lamps as well it is {lamps}."
                " Lamps were answered in {looked} of {checks} checks.",
                feed=percent(feed),
                lamps=percent(lamps),
                looked=looked,
                checks=len(checks),
            )
        )
    else:
        notes.append(
            say(
                "Whether it trips and resets shows {feed}; of these faults the lamps show no more.",
                feed=percent(feed),
            )
        )
    open_left = _read(found[LEAVES_OPEN])
    if open_left:
        notes.append(
            say(
                "It leaves open, the most frequent first: {faults}. Gauges, test pieces and the"
                " stop time find these.",
                faults="; ".join(open_left[:TOLD]),
            )
        )
    return CheckCoverage(value, tuple(notes))


def _read(kept: Any) -> Any:
    """Kept words in the language spoken; older records have them in English alone."""
    return here(kept) if isinstance(kept, Mapping) else kept
