"""What checks prove and leave open, as tables: silent faults first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from tripmargin.faultfinding.charts.covered import Coverage, CoveredFault, PathCoverage
from tripmargin.faultfinding.charts.effects import STOPPED
from tripmargin.ground.units import percent
from tripmargin.pictures.page import Cell, Section, Table

YES, NO = "yes", "no"
NAMED = 4
"""Faults named in a cell; the rest is counted."""


def coverage_table(covered: Coverage) -> Table:
    """One row for each single fault, silent ones first; one column for each check path.

    Returns
    -------
    (headers, rows)
        Rates per 1000 operating hours; "yes" where a path shows the fault.
    """
    names, silent = [path.name for path in covered.paths], silent_faults(covered)
    headers = ("fault", "rate_per_1000_h", "rate_source", "metal", *names, "lamps", "quickest_look")
    rows: list[list[Cell]] = [
        [
            fault.text,
            fault.rate,
            fault.source,
            fault.metal,
            *(_yes(name in fault.paths) for name in names),
            lamps_words(covered, fault),
            fault.quickest or "none",
        ]
        for fault in (*silent, *(each for each in covered.faults if each not in silent))
    ]
    return headers, rows


def coverage_sections(covered: Coverage) -> tuple[Section, ...]:
    """Silent faults first, then what each path proves and what stays open."""
    return (
        Section(
            "Faults that leave every lamp and buzzer healthy",
            silent_lines(covered),
            _fault_table(covered, silent_faults(covered)),
        ),
        Section(
            "What each check proves",
            [_FROM_MODEL, rates_words(covered)],
            _paths(covered),
            wide=True,
        ),
        Section(
            f"What the daily check leaves open ({covered.daily})",
            ["Faults that it does not show, though some look does; metal first."],
            _fault_table(covered, worst_first(covered, covered.not_daily)),
        ),
        Section(
            "What nothing shows",
            [
                "No look differs and nobody would complain: these come to light only with a second"
                " fault, or never. They do nothing while they are alone, as far as the model goes."
            ],
            _fault_table(covered, worst_first(covered, covered.nothing_shows)),
        ),
        Section("What each kind of look shows, made in every state", (), _kinds(covered)),
        Section(
            "Every fault and every check",
            [rates_words(covered)],
            _in_words(coverage_table(covered)),
            wide=True,
        ),
    )


_FROM_MODEL = (
    "Proves and leaves open are the machine file's words. What stands beside them is computed: each"
    " look read rightly, a fault that comes and goes taken as there."
)


def silent_lines(covered: Coverage) -> list[str]:
    """How many faults no lamp tells, and how many of these let metal through."""
    silent = silent_faults(covered)
    bad = [fault for fault in silent if fault.metal != STOPPED]
    return [
        f"{len(silent)} of {len(covered.faults)} single faults leave every lamp and buzzer as on a"
        f" sound machine: {len(covered.silent)} of them in every state,"
        f" {len(covered.silent_until_stop)} until a stop is asked for,"
        f" {len(covered.silent_while_feeding)} while the feed runs until then.",
        f"{len(bad)} of these let metal through or stop it late; they stand first.",
    ]


def silent_faults(covered: Coverage) -> list[CoveredFault]:
    """The silent faults, those that let metal through first."""
    names = (*covered.silent, *covered.silent_until_stop, *covered.silent_while_feeding)
    return worst_first(covered, names)


def worst_first(covered: Coverage, names: Iterable[str]) -> list[CoveredFault]:
    """Faults by their ids: those that let metal through first, then the most frequent."""
    faults = [covered.fault(name) for name in names]
    return sorted(faults, key=lambda fault: (fault.metal == STOPPED, -fault.rate))


def rates_words(covered: Coverage) -> str:
    """Where the rates come from."""
    return f"Shares are by rate. Rates: {'; '.join(covered.rates)}."


def lamps_words(covered: Coverage, fault: CoveredFault) -> str:
    """What lamps and buzzers tell of a fault."""
    if fault.id in covered.silent:
        return "healthy in every state"
    if fault.id in covered.silent_until_stop:
        return "healthy until a stop"
    return "healthy while feeding" if fault.id in covered.silent_while_feeding else "differ"


def open_words(covered: Coverage, path: PathCoverage) -> str:
    """Faults that a path misses and that let metal through, by name."""
    bad = [each for each in worst_first(covered, path.misses) if each.metal != STOPPED]
    if not bad:
        return "none"
    named = "; ".join(each.text for each in bad[:NAMED])
    return f"{named} and {len(bad) - NAMED} more" if len(bad) > NAMED else named


def _paths(covered: Coverage) -> Table:
    headers = (
        "check",
        "min",
        "shows",
        "faults",
        "proves",
        "leaves open",
        "lets metal through unseen",
    )
    rows: list[list[Cell]] = [
        [
            path.name,
            path.minutes,
            percent(path.share),
            f"{len(path.shows)} of {len(covered.faults)}",
            path.proves,
            path.leaves_open,
            open_words(covered, path),
        ]
        for path in covered.paths
    ]
    return headers, rows


def _kinds(covered: Coverage) -> Table:
    rows: list[list[Cell]] = [
        [kind.name, percent(kind.share), f"{len(kind.shows)} of {len(covered.faults)}"]
        for kind in sorted(covered.kinds, key=lambda kind: -kind.share)
    ]
    return ("look", "shows", "faults"), rows


def _fault_table(covered: Coverage, faults: Sequence[CoveredFault]) -> Table:
    headers = ("fault", "per 1000 h", "metal", "daily check", "lamps", "quickest look", "min")
    rows: list[list[Cell]] = [
        [
            fault.text,
            fault.rate,
            fault.metal,
            "shows it" if covered.daily in fault.paths else "does not",
            lamps_words(covered, fault),
            fault.quickest or "none",
            round(fault.quickest_minutes, 1) if fault.quickest else None,
        ]
        for fault in faults
    ]
    return headers, rows


def _in_words(table: Table) -> Table:
    """The same table with headers for people."""
    headers, rows = table
    return [name.replace("_", " ") for name in headers], rows


def _yes(shows: bool) -> str:
    return YES if shows else NO
