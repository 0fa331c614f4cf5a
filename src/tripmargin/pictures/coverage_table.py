"""What checks prove and leave open, as tables: silent faults first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from tripmargin.faultfinding.charts.covered import Coverage, CoveredFault, PathCoverage
from tripmargin.faultfinding.charts.effects import STOPPED
from tripmargin.ground.languages import later, say, say_as
from tripmargin.ground.languages.own_words import as_written
from tripmargin.ground.units import percent
from tripmargin.pictures.page import Cell, Section, Table
from tripmargin.pictures.trade_words import cell_words, look_words, source_words
from tripmargin.pictures.words import said

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
    headers = (
        later("fault"),
        later("rate_per_1000_h"),
        later("rate_source"),
        later("metal"),
        *map(as_written, names),
        later("lamps"),
        later("quickest_look"),
    )
    rows: list[list[Cell]] = [
        [
            fault.text,
            fault.rate,
            source_words(fault.source),
            cell_words(fault.metal),
            *(_yes(name in fault.paths) for name in names),
            lamps_words(covered, fault),
            _look(fault),
        ]
        for fault in (*silent, *(each for each in covered.faults if each not in silent))
    ]
    return headers, rows


def coverage_sections(covered: Coverage) -> tuple[Section, ...]:
    """Silent faults first, then what each path proves and what stays open."""
    return (
        Section(
            say("Faults that leave every lamp and buzzer healthy"),
            silent_lines(covered),
            _fault_table(covered, silent_faults(covered)),
        ),
        Section(
            say("What each check proves"),
            [say(_FROM_MODEL), rates_words(covered)],
            _paths(covered),
            wide=True,
        ),
        Section(
            say("What the daily check leaves open ({check})", check=as_written(covered.daily)),
            [say("Faults that it does not show, though some look does; metal first.")],
            _fault_table(covered, worst_first(covered, covered.not_daily)),
        ),
        Section(
            say("What nothing shows"),
            [
                say(
                    "No look differs and nobody would complain: these come to light only with a"
                    " second fault, or never. They do nothing while they are alone, as far as the"
                    " model goes."
                )
            ],
            _fault_table(covered, worst_first(covered, covered.nothing_shows)),
        ),
        Section(say("What each kind of look shows, made in every state"), (), _kinds(covered)),
        Section(
            say("Every fault and every check"),
            [rates_words(covered)],
            _in_words(coverage_table(covered)),
            wide=True,
        ),
    )


_FROM_MODEL = later(
    "Proves and leaves open are the machine file's words. What stands beside them is computed: each"
    " look read rightly, a fault that comes and goes taken as there."
)


def silent_lines(covered: Coverage) -> list[str]:
    """How many faults no lamp tells, and how many of these let metal through."""
    silent = silent_faults(covered)
    bad = [fault for fault in silent if fault.metal != STOPPED]
    return [
        say(
            "{silent} of {all} single faults leave every lamp and buzzer as on a sound machine:"
            " {always} of them in every state, {until_stop} until a stop is asked for,"
            " {while_feeding} while the feed runs until then.",
            silent=len(silent),
            all=len(covered.faults),
            always=len(covered.silent),
            until_stop=len(covered.silent_until_stop),
            while_feeding=len(covered.silent_while_feeding),
        ),
        say(
            "{count} of these let metal through or stop it late; they stand first.",
            count=len(bad),
        ),
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
    return say(
        "Shares are by rate. Rates: {rates}.", rates="; ".join(map(source_words, covered.rates))
    )


def lamps_words(covered: Coverage, fault: CoveredFault) -> str:
    """What lamps and buzzers tell of a fault."""
    if fault.id in covered.silent:
        return say("healthy in every state")
    if fault.id in covered.silent_until_stop:
        return say("healthy until a stop")
    if fault.id in covered.silent_while_feeding:
        return say("healthy while feeding")
    return say_as("lamps", "differ")


def open_words(covered: Coverage, path: PathCoverage) -> str:
    """Faults that a path misses and that let metal through, by name."""
    bad = [each for each in worst_first(covered, path.misses) if each.metal != STOPPED]
    if not bad:
        return say_as("faults", "none")
    faults = "; ".join(each.text for each in bad[:NAMED])
    if len(bad) <= NAMED:
        return faults
    return say("{faults} and {more} more", faults=faults, more=len(bad) - NAMED)


def _paths(covered: Coverage) -> Table:
    headers = (
        later("check"),
        later("min"),
        later("shows"),
        later("faults"),
        later("proves"),
        later("leaves open"),
        later("lets metal through unseen"),
    )
    rows: list[list[Cell]] = [
        [
            as_written(path.name),
            path.minutes,
            percent(path.share),
            _of(len(path.shows), len(covered.faults)),
            as_written(path.proves),
            as_written(path.leaves_open),
            open_words(covered, path),
        ]
        for path in covered.paths
    ]
    return headers, rows


def _kinds(covered: Coverage) -> Table:
    rows: list[list[Cell]] = [
        [said(kind.name), percent(kind.share), _of(len(kind.shows), len(covered.faults))]
        for kind in sorted(covered.kinds, key=lambda kind: -kind.share)
    ]
    return (later("look"), later("shows"), later("faults")), rows


def _of(some: int, every: int) -> str:
    return say("{some} of {all}", some=some, all=every)


def _fault_table(covered: Coverage, faults: Sequence[CoveredFault]) -> Table:
    headers = (
        later("fault"),
        later("per 1000 h"),
        later("metal"),
        later("daily check"),
        later("lamps"),
        later("quickest look"),
        later("min"),
    )
    rows: list[list[Cell]] = [
        [
            fault.text,
            fault.rate,
            cell_words(fault.metal),
            say("shows it") if covered.daily in fault.paths else say("does not"),
            lamps_words(covered, fault),
            _look(fault),
            round(fault.quickest_minutes, 1) if fault.quickest else None,
        ]
        for fault in faults
    ]
    return headers, rows


def _in_words(table: Table) -> Table:
    """The same table with headers for people."""
    headers, rows = table
    plain = {
        "rate_per_1000_h": later("rate per 1000 h"),
        "rate_source": later("rate source"),
        "quickest_look": later("quickest look"),
    }
    return [plain.get(name, name) for name in headers], rows


def _look(fault: CoveredFault) -> str:
    return look_words(fault.quickest) if fault.quickest else say_as("look", "none")


def _yes(shows: bool) -> str:
    return YES if shows else NO
