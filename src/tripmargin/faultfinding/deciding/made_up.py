"""Made-up problems of any size, seeded: to measure a policy on and to practise with.

Nothing in them is a real machine. Kinds of check, their minutes and their slips are invented, in
the proportions of a yard: looks cost a minute and err, a measurement costs ten and seldom errs.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np

WAYS = (  # letter, least and greatest minutes, chance of a slip, share of the checks
    ("L", 0.3, 1.5, 0.03, 0.45),
    ("J", 1.0, 4.0, 0.09, 0.2),
    ("V", 3.0, 10.0, 0.015, 0.25),
    ("G", 8.0, 20.0, 0.015, 0.1),
)
PRICES = (0.0, 2.0, 5.0, 8.0, 15.0, 20.0, 60.0, 150.0, 500.0)
STATES = ("stopped", "key_on", "feed_running", "reverse", "tripped", "cover_off")
MOVES = ((0, 0.5, 3.0), (0.5, 0, 2.5), (2.0, 1.5, 0))


@dataclass(frozen=True)
class Recipe:
    """What kind of problem to make up."""

    faults: int
    checks: int
    states: int = 3
    slips: bool = False
    cannot_tell: float = 0.0
    pairs: float = 0.0
    """Weight of a pair over the product of its rates; none where 0."""
    swaps: int = 0
    other: bool = False
    dear: float = 1.0
    """Factor on the minutes of every check."""


def made_up_problem(recipe: Recipe, seed: int) -> dict[str, Any]:
    """Return a problem in the neutral form; the same seed gives the same problem.

    Examples
    --------
    >>> problem = made_up_problem(Recipe(faults=4, checks=5), seed=1)
    >>> len(problem["faults"]), len(problem["checks"]), problem["repeat"]
    (4, 5, 'never')
    """
    rng = np.random.default_rng(seed)
    states = list(STATES[: recipe.states])
    faults = [_fault(rng, f"F{i:02d}") for i in range(recipe.faults)]
    ids = [fault["id"] for fault in faults]
    if recipe.other:
        faults.append(
            {
                "id": "OTHER",
                "rate": 0.05 / 0.95 * sum(fault["rate"] for fault in faults),
                "repair_minutes": 240.0,
                "price": 200.0,
                "repair_state": "stopped",
            }
        )
    couples = list(combinations(ids, 2)) if recipe.pairs else []
    rates = {fault["id"]: fault["rate"] for fault in faults}
    return {
        "faults": faults,
        "pairs": [
            {"faults": list(pair), "weight": recipe.pairs * rates[pair[0]] * rates[pair[1]]}
            for pair in couples
        ],
        "swaps": [_swap(rng, f"S{i}", ids) for i in range(recipe.swaps)],
        "checks": [_check(rng, i, ids, couples, states, recipe) for i in range(recipe.checks)],
        "states": states,
        "state_change_minutes": _moves(rng, recipe.states),
        "start_state": states[0],
        "verify": {"minutes": 5.0, "state": states[min(2, recipe.states - 1)]},
        "minutes_per_price_unit": 0.5,
        "repeat": "after_repair" if recipe.pairs else "never",
        "given": [],
    }


def _fault(rng: np.random.Generator, name: str) -> dict[str, Any]:
    return {
        "id": name,
        "rate": round(float(np.exp(rng.normal(0.0, 1.0))), 3),
        "repair_minutes": round(float(np.exp(rng.uniform(1.0, 4.4))), 1),
        "price": float(rng.choice(PRICES)),
        "repair_state": "stopped",
    }


def _swap(rng: np.random.Generator, name: str, ids: list[str]) -> dict[str, Any]:
    count = int(rng.integers(2, max(3, len(ids) // 3) + 1))
    return {
        "id": name,
        "minutes": round(float(rng.uniform(10, 30)), 1),
        "price": float(rng.choice([150.0, 250.0, 400.0])),
        "state": "stopped",
        "fixes": sorted(rng.choice(ids, size=min(count, len(ids)), replace=False).tolist()),
    }


def _check(
    rng: np.random.Generator,
    number: int,
    ids: list[str],
    couples: list[tuple[str, str]],
    states: list[str],
    recipe: Recipe,
) -> dict[str, Any]:
    letter, least, greatest, slip, _ = WAYS[rng.choice(len(WAYS), p=[way[4] for way in WAYS])]
    shows = dict(zip(ids, rng.random(len(ids)) < rng.uniform(0.1, 0.6), strict=True))
    wrong, blank = (slip if recipe.slips else 0.0), recipe.cannot_tell
    sure = [(1 - blank) * (1 - wrong), (1 - blank) * wrong]

    def row(yes: bool) -> list[float]:
        return (sure[::-1] if yes else sure) + ([blank] if blank else [])

    table = {name: row(bool(yes)) for name, yes in shows.items()}
    masks = rng.random() < 0.2  # then the first of a pair hides the second
    for first, second in couples:
        table[f"{first}+{second}"] = row(bool(shows[first] or (shows[second] and not masks)))
    if recipe.other:
        table["OTHER"] = [(1 - blank) / 2] * 2 + ([blank] if blank else [])
    return {
        "id": f"{letter}{number:02d}",
        "minutes": round(float(rng.uniform(least, greatest)) * recipe.dear, 1),
        "state": "stopped" if letter == "G" else str(rng.choice(states)),
        "outcomes": ["no", "yes", *(["cant_tell"] if blank else [])],
        "p": table,
    }


def _moves(rng: np.random.Generator, states: int) -> list[list[float]]:
    """Return minutes between states: the usual three, or random ones made to keep the triangle."""
    if states == 3:
        return [list(map(float, row)) for row in MOVES]
    minutes = np.round(rng.uniform(0.5, 4.0, size=(states, states)), 1)
    np.fill_diagonal(minutes, 0.0)
    for middle in range(states):
        minutes = np.minimum(minutes, minutes[:, [middle]] + minutes[[middle]])
    rows: list[list[float]] = minutes.tolist()
    return rows
