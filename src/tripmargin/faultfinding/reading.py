"""Reading a problem from its neutral form, with an error that says where and what to mend."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import permutations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.problem import CURED, Check, Problem, Repair
from tripmargin.faultfinding.troubles import ProblemError
from tripmargin.ground.errors import nearest

SLACK = 1e-9
"""How far from 1 the chances of a check may sum, and how far moves may miss the triangle."""
SOMETHING_ELSE = "OTHER"
"""Name of the hypothesis that takes what nothing else explains, unless the problem says another."""

Faults = frozenset[str]


def read_problem(problem: Mapping[str, Any]) -> Problem:
    """Read the neutral form; raises ProblemError at the first thing that is wrong."""
    states = _names("states", _field(problem, "", "states", list))
    rate = _number("minutes_per_price_unit", problem.get("minutes_per_price_unit"))
    names = _ids("faults", _field(problem, "", "faults", list))
    other = problem.get("something_else", SOMETHING_ELSE if SOMETHING_ELSE in names else None)
    if other is not None:
        _one_of("something_else", other, names)
    weights = _weights(problem, names, other)
    repairs = _repairs(problem, names, states, rate)
    checks, likelihood = _checks(problem, names, states, list(weights))
    verify = _field(problem, "", "verify", Mapping)
    total = sum(weights.values())
    repeat = problem.get("repeat", "never")
    _one_of("repeat", repeat, ("never", "after_repair"))
    sets = list(weights)
    return Problem(
        hypotheses=tuple("+".join(f for f in names if f in faults) for faults in sets),
        prior=np.array([weights[faults] / total for faults in sets]),
        states=states,
        move=_moves(problem, states),
        start_state=_one_of("start_state", problem.get("start_state"), states),
        verify_state=_one_of("verify.state", verify.get("state"), states),
        verify_minutes=_number("verify.minutes", verify.get("minutes")),
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
        weights[frozenset([fault["id"]])] = _number(where, fault.get("rate"))
    for number, pair in enumerate(problem.get("pairs", ())):
        where = f"pairs[{number}]"
        both = _names(f"{where}.faults", _field(pair, where, "faults", list))
        for name in both:
            _one_of(f"{where}.faults", name, names)
        if len(both) != 2 or frozenset(both) in weights:
            raise ProblemError(
                f"{where}.faults", list(both), "not a new pair", "two faults, each pair once"
            )
        weights[frozenset(both)] = _number(f"{where}.weight", pair.get("weight"))
    if not sum(weights.values()) > 0:
        raise ProblemError(
            "faults", None, "no hypothesis has a weight above 0", "at least one rate above 0"
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
            fields = ("repair_minutes", "price", "repair_state")
            minutes, price, place = _costs(f"faults[{number}]", fault, fields, states)
            name, cost = f"repair:{fault['id']}", minutes + rate * price
            repairs.append(Repair(name, place, cost, price, (fault["id"],)))
    swaps = problem.get("swaps", [])
    for number, name in enumerate(_ids("swaps", swaps)):
        where, swap = f"swaps[{number}]", swaps[number]
        cures = _names(f"{where}.fixes", _field(swap, where, "fixes", list))
        for fault in cures:
            _one_of(f"{where}.fixes", fault, names)
        minutes, price, place = _costs(where, swap, ("minutes", "price", "state"), states)
        repairs.append(Repair(f"swap:{name}", place, minutes + rate * price, price, cures))
    cured = {fault for repair in repairs for fault in repair.cures}
    for number, name in enumerate(names):
        if name not in cured:
            raise ProblemError(
                f"faults[{number}].repair_minutes",
                None,
                f"nothing cures {name}, so a case could never end",
                "repair_minutes for the fault, or a swap that fixes it",
            )
    return tuple(repairs)


def _costs(
    where: str, table: Mapping[str, Any], fields: tuple[str, str, str], states: Sequence[str]
) -> tuple[float, float, int]:
    """Minutes, price and state of a repair, from the fields of these names."""
    minutes, price, state = fields
    return (
        _number(f"{where}.{minutes}", table.get(minutes)),
        _number(f"{where}.{price}", table.get(price)),
        _one_of(f"{where}.{state}", table.get(state), states),
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
    listed = problem.get("checks", [])
    checks, tables = [], [np.zeros((len(sets), 0))]
    for number, name in enumerate(_ids("checks", listed)):
        where, check = f"checks[{number}]", listed[number]
        outcomes = _names(f"{where}.outcomes", _field(check, where, "outcomes", list))
        minutes = _number(f"{where}.minutes", check.get("minutes"))
        place = _one_of(f"{where}.state", check.get("state"), states)
        checks.append(Check(f"check:{name}", place, minutes, outcomes))
        rows = _rows(where, _field(check, where, "p", Mapping), names, len(outcomes))
        for faults in sets:
            if faults not in rows:
                key = "+".join(fault for fault in names if fault in faults)
                raise ProblemError(
                    f"{where}.p", None, f"no row for {key}", "a row for every hypothesis"
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
        parts = key.split("+")
        for part in parts:
            if part not in known:
                _one_of(f"{where}.p", part, names)
        chances = isinstance(row, Sequence) and all(_is_chance(chance) for chance in row)
        if not chances or len(row) != count or abs(sum(row) - 1) > SLACK:
            raise ProblemError(
                f"{where}.p[{key!r}]",
                row,
                "not a distribution over the outcomes",
                f"{count} numbers from 0 to 1 that sum to 1",
                "Give one chance for each outcome, in the order of `outcomes`.",
            )
        rows[frozenset(parts)] = row
    return rows


def _is_chance(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and 0 <= value <= 1


def _moves(problem: Mapping[str, Any], states: Sequence[str]) -> NDArray[np.float64]:
    """Minutes from state to state: none to stay, and no detour is quicker than the direct way."""
    where, count = "state_change_minutes", len(states)
    listed = _field(problem, "", where, list)
    if len(listed) != count or any(len(row) != count for row in listed):
        raise ProblemError(
            where, None, "wrong shape", f"{count} rows of {count} minutes, in the order of `states`"
        )
    for a, row in enumerate(listed):
        for b, minutes in enumerate(row):
            _number(f"{where}[{a}][{b}]", minutes)
    move = np.array(listed, dtype=float)
    for a in range(count):
        if move[a, a] != 0:
            raise ProblemError(f"{where}[{a}][{a}]", listed[a][a], "staying costs nothing", "0")
    for a, b, c in permutations(range(count), 3):
        if move[a, c] > move[a, b] + move[b, c] + SLACK:
            raise ProblemError(
                f"{where}[{a}][{c}]",
                listed[a][c],
                f"the way by {states[b]} takes {move[a, b] + move[b, c]:g}, which is less",
                "no more than any detour (triangle inequality)",
                "Give the minutes of the quickest way.",
            )
    return move


def _given(problem: Mapping[str, Any], checks: Sequence[Check]) -> tuple[tuple[str, str], ...]:
    """Findings known at the start: (action, outcome), each check once."""
    outcomes = {check.id: check.outcomes for check in checks}
    given: dict[str, str] = {}
    for number, finding in enumerate(problem.get("given", ())):
        where = f"given[{number}]"
        _one_of(f"{where}.check", finding.get("check"), [name[6:] for name in outcomes])
        name = f"check:{finding['check']}"
        _one_of(f"{where}.outcome", finding.get("outcome"), outcomes[name])
        if name in given:
            raise ProblemError(f"{where}.check", finding["check"], "given twice", "each check once")
        given[name] = finding["outcome"]
    return tuple(given.items())


def _field(table: Mapping[str, Any], where: str, key: str, kind: type) -> Any:
    """Return a field that must be there, of one kind."""
    value = table.get(key)
    if not isinstance(value, kind):
        words = "a list" if kind is list else "a table of keys and values"
        missing = "missing" if value is None else "of the wrong kind"
        raise ProblemError(f"{where}.{key}" if where else key, value, missing, words)
    return value


def _ids(where: str, listed: Any) -> tuple[str, ...]:
    """Names of the entries of a list of tables."""
    if not isinstance(listed, list) or not all(isinstance(entry, Mapping) for entry in listed):
        raise ProblemError(where, None, "not a list of tables", "a list of tables, each with an id")
    return _names(f"{where}[].id", [entry.get("id") for entry in listed])


def _names(where: str, listed: Sequence[Any]) -> tuple[str, ...]:
    """Names that are texts, free of the sign that joins pairs, each once."""
    for name in listed:
        if not isinstance(name, str) or not name or "+" in name:
            raise ProblemError(where, name, "not a name", "a text without '+'")
        if listed.count(name) > 1:
            raise ProblemError(where, name, "named twice", "each name once")
    if not listed and where not in ("checks[].id", "swaps[].id"):
        raise ProblemError(where, None, "empty", "at least one name")
    return tuple(listed)


def _one_of(where: str, value: Any, known: Sequence[str]) -> int:
    """Return the place of a name among the known ones."""
    if value not in known:
        near = nearest(value, known) if isinstance(value, str) else None
        hint = f"Did you mean {near!r}?" if near else ""
        raise ProblemError(where, value, "not known", ", ".join(known), hint)
    return list(known).index(value)


def _number(where: str, value: Any) -> float:
    """Return a number that is finite and not negative."""
    good = isinstance(value, (int, float)) and not isinstance(value, bool)
    if not good or not math.isfinite(value) or value < 0:
        raise ProblemError(where, value, "not such a number", "a finite number, 0 or more")
    return float(value)
