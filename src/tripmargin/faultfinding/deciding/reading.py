"""Reading a problem from its neutral form, with an error that says where and what to mend."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import permutations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.deciding import fields
from tripmargin.faultfinding.deciding.problem import CURED, Check, Problem, Repair
from tripmargin.faultfinding.deciding.troubles import ProblemError
from tripmargin.ground.languages import say

SLACK = 1e-9
"""How far from 1 the chances of a check may sum, and how far moves may miss the triangle."""
SOMETHING_ELSE = "OTHER"
"""Name of the hypothesis that takes what nothing else explains, unless the problem says another."""

Faults = frozenset[str]


def read_problem(problem: Mapping[str, Any]) -> Problem:
    """Read the neutral form; raises ProblemError at the first thing that is wrong."""
    fields.table(problem, "problem")
    states = fields.names("states", fields.listed(problem, "", "states"))
    rate = fields.number("minutes_per_price_unit", problem.get("minutes_per_price_unit"))
    names = fields.ids("faults", fields.tables(problem, "faults"))
    other = problem.get("something_else", SOMETHING_ELSE if SOMETHING_ELSE in names else None)
    if other is not None:
        fields.one_of("something_else", other, names)
    weights = _weights(problem, names, other)
    repairs = _repairs(problem, names, states, rate)
    checks, likelihood = _checks(problem, names, states, list(weights))
    verify = fields.table(problem, "", "verify")
    total = sum(weights.values())
    repeat = problem.get("repeat", "never")
    fields.one_of("repeat", repeat, ("never", "after_repair"))
    sets = list(weights)
    return Problem(
        hypotheses=tuple("+".join(f for f in names if f in faults) for faults in sets),
        prior=np.array([weights[faults] / total for faults in sets]),
        states=states,
        move=_moves(problem, states),
        start_state=fields.one_of("start_state", problem.get("start_state"), states),
        verify_state=fields.one_of("verify.state", verify.get("state"), states),
        verify_minutes=fields.number("verify.minutes", verify.get("minutes")),
        checks=checks,
        likelihood=likelihood,
        repairs=repairs,
        left=_left(repairs, sets),
        again_after_repair=repeat == "after_repair",
        given=_given(problem, checks),
        something_else=None if other is None else sets.index(frozenset([other])),
    )


def _weights(
    problem: Mapping[str, Any], names: Sequence[str], other: str | None
) -> dict[Faults, float]:
    """Weight of each hypothesis that is possible, and of what repairs may leave of it.

    'Something else' stays in even without weight: it takes what nothing explains.
    """
    weights: dict[Faults, float] = {}
    for number, fault in enumerate(problem["faults"]):
        where = f"faults[{number}].rate"
        weights[frozenset([fault["id"]])] = fields.number(where, fault.get("rate"))
    for number, pair in enumerate(fields.tables(problem, "pairs", needed=False)):
        where = f"pairs[{number}]"
        both = fields.names(f"{where}.faults", fields.listed(pair, where, "faults"))
        for name in both:
            fields.one_of(f"{where}.faults", name, names)
        if len(both) != 2 or frozenset(both) in weights:
            raise ProblemError(
                f"{where}.faults",
                list(both),
                say("not a new pair"),
                say("two faults, each pair once"),
            )
        weights[frozenset(both)] = fields.number(f"{where}.weight", pair.get("weight"))
    if not sum(weights.values()) > 0:
        raise ProblemError(
            "faults",
            None,
            say("no hypothesis has a weight above 0"),
            say("at least one rate above 0"),
        )
    needed = {part for faults, weight in weights.items() if weight > 0 for part in faults}
    needed.update([] if other is None else [other])
    return {
        faults: weight
        for faults, weight in weights.items()
        if weight > 0 or (len(faults) == 1 and faults <= needed)
    }


def _repairs(
    problem: Mapping[str, Any], names: Sequence[str], states: Sequence[str], rate: float
) -> tuple[Repair, ...]:
    """Read the repairs of single faults and the swaps; every fault must be cured by one of them."""
    repairs: list[Repair] = []
    for number, fault in enumerate(problem["faults"]):
        if fault.get("repair_minutes") is not None:
            keys = ("repair_minutes", "price", "repair_state")
            minutes, price, place = _costs(f"faults[{number}]", fault, keys, states)
            name, cost = f"repair:{fault['id']}", minutes + rate * price
            repairs.append(Repair(name, place, cost, price, (fault["id"],)))
    swaps = fields.tables(problem, "swaps", needed=False)
    for number, name in enumerate(fields.ids("swaps", swaps)):
        where, swap = f"swaps[{number}]", swaps[number]
        cures = fields.names(f"{where}.fixes", fields.listed(swap, where, "fixes"))
        for fault in cures:
            fields.one_of(f"{where}.fixes", fault, names)
        minutes, price, place = _costs(where, swap, ("minutes", "price", "state"), states)
        repairs.append(Repair(f"swap:{name}", place, minutes + rate * price, price, cures))
    cured = {fault for repair in repairs for fault in repair.cures}
    for number, name in enumerate(names):
        if name not in cured:
            raise ProblemError(
                f"faults[{number}].repair_minutes",
                None,
                say("nothing cures {name}, so a case could never end", name=name),
                say("repair_minutes for the fault, or a swap that fixes it"),
            )
    return tuple(repairs)


def _costs(
    where: str, entry: Mapping[str, Any], keys: tuple[str, str, str], states: Sequence[str]
) -> tuple[float, float, int]:
    """Minutes, price and state of a repair, under these keys."""
    minutes, price, state = keys
    return (
        fields.number(f"{where}.{minutes}", entry.get(minutes)),
        fields.number(f"{where}.{price}", entry.get(price)),
        fields.one_of(f"{where}.{state}", entry.get(state), states),
    )


def _left(repairs: Sequence[Repair], sets: Sequence[Faults]) -> NDArray[np.intp]:
    """Number of what each repair leaves of each hypothesis, CURED where nothing; (R, H)."""
    numbers = {faults: number for number, faults in enumerate(sets)} | {frozenset(): CURED}
    return np.array(
        [[numbers[faults - set(repair.cures)] for faults in sets] for repair in repairs],
        dtype=np.intp,
    )


def _checks(
    problem: Mapping[str, Any], names: Sequence[str], states: Sequence[str], sets: list[Faults]
) -> tuple[tuple[Check, ...], NDArray[np.float64]]:
    """Read the checks and the chance of each outcome under each hypothesis; (H, K)."""
    entries = fields.tables(problem, "checks", needed=False)
    checks, tables = [], [np.zeros((len(sets), 0))]
    for number, name in enumerate(fields.ids("checks", entries)):
        where, check = f"checks[{number}]", entries[number]
        outcomes = fields.names(f"{where}.outcomes", fields.listed(check, where, "outcomes"))
        minutes = fields.number(f"{where}.minutes", check.get("minutes"))
        place = fields.one_of(f"{where}.state", check.get("state"), states)
        checks.append(Check(f"check:{name}", place, minutes, outcomes))
        rows = _rows(where, fields.table(check, where, "p"), names, len(outcomes))
        for faults in sets:
            if faults not in rows:
                key = "+".join(fault for fault in names if fault in faults)
                raise ProblemError(
                    f"{where}.p",
                    None,
                    say("no row for {key}", key=key),
                    say("a row for every hypothesis"),
                )
        tables.append(np.array([rows[faults] for faults in sets], dtype=float))
    return tuple(checks), np.concatenate(tables, axis=1)


def _rows(
    where: str, table: Mapping[str, Any], names: Sequence[str], count: int
) -> dict[Faults, Sequence[float]]:
    """Rows of a check by hypothesis, each a distribution over its outcomes."""
    rows: dict[Faults, Sequence[float]] = {}
    known = set(names)
    for key, row in table.items():
        parts = str(key).split("+")
        for part in parts:
            if part not in known:
                fields.one_of(f"{where}.p", part, names)
        chances = isinstance(row, Sequence) and all(_is_chance(chance) for chance in row)
        if not chances or len(row) != count or abs(sum(row) - 1) > SLACK:
            raise ProblemError(
                f"{where}.p[{key!r}]",
                row,
                say("not a distribution over the outcomes"),
                say("{count} numbers from 0 to 1 that sum to 1", count=count),
                say("Give one chance for each outcome, in the order of `outcomes`."),
            )
        rows[frozenset(parts)] = row
    return rows


def _is_chance(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and 0 <= value <= 1


def _moves(problem: Mapping[str, Any], states: Sequence[str]) -> NDArray[np.float64]:
    """Minutes from state to state: none to stay, and no detour is quicker than the direct way."""
    where, count = "state_change_minutes", len(states)
    rows = fields.listed(problem, "", where)
    if len(rows) != count or any(not isinstance(row, list) or len(row) != count for row in rows):
        raise ProblemError(
            where,
            None,
            say("wrong shape"),
            say("{count} rows of {count} minutes, in the order of `states`", count=count),
        )
    for a, row in enumerate(rows):
        for b, minutes in enumerate(row):
            fields.number(f"{where}[{a}][{b}]", minutes)
    move = np.array(rows, dtype=float)
    for a in range(count):
        if move[a, a] != 0:
            raise ProblemError(f"{where}[{a}][{a}]", rows[a][a], say("staying costs nothing"), "0")
    for a, b, c in permutations(range(count), 3):
        if move[a, c] > move[a, b] + move[b, c] + SLACK:
            raise ProblemError(
                f"{where}[{a}][{c}]",
                rows[a][c],
                say(
                    "the way by {state} takes {minutes:g}, which is less",
                    state=states[b],
                    minutes=move[a, b] + move[b, c],
                ),
                say("no more than any detour (triangle inequality)"),
                say("Give the minutes of the quickest way."),
            )
    return move


def _given(problem: Mapping[str, Any], checks: Sequence[Check]) -> tuple[tuple[str, str], ...]:
    """Findings known at the start: (action, outcome), each check once."""
    outcomes = {check.id: check.outcomes for check in checks}
    given: dict[str, str] = {}
    for number, finding in enumerate(fields.tables(problem, "given", needed=False)):
        where = f"given[{number}]"
        fields.one_of(f"{where}.check", finding.get("check"), [name[6:] for name in outcomes])
        name = f"check:{finding['check']}"
        fields.one_of(f"{where}.outcome", finding.get("outcome"), outcomes[name])
        if name in given:
            raise ProblemError(
                f"{where}.check", finding["check"], say("given twice"), say("each check once")
            )
        given[name] = finding["outcome"]
    return tuple(given.items())
