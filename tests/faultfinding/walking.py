"""Walks a policy through a problem by plain dictionaries: a second reading of the conventions.

Nothing of the package's arithmetic is used, so that what it says about costs can be compared.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

Belief = dict[frozenset, float]


class Walk:
    """One problem in the neutral form, and every way that a policy may go through it."""

    def __init__(self, problem: dict[str, Any]) -> None:
        self.problem = problem
        states = problem["states"]
        self.move = {
            (a, b): problem["state_change_minutes"][i][j]
            for i, a in enumerate(states)
            for j, b in enumerate(states)
        }
        self.checks = {f"check:{check['id']}": check for check in problem["checks"]}
        rate = problem["minutes_per_price_unit"]
        self.repairs = {
            f"repair:{f['id']}": (
                f["repair_minutes"] + rate * f["price"],
                f["repair_state"],
                {f["id"]},
            )
            for f in problem["faults"]
            if f["repair_minutes"] is not None
        } | {
            f"swap:{s['id']}": (s["minutes"] + rate * s["price"], s["state"], set(s["fixes"]))
            for s in problem["swaps"]
        }

    def start(self) -> Belief:
        weights = {frozenset([f["id"]]): f["rate"] for f in self.problem["faults"]}
        weights |= {frozenset(p["faults"]): p["weight"] for p in self.problem["pairs"]}
        belief = scaled(weights)[1]
        for finding in self.problem["given"]:
            belief = self.seen(belief, f"check:{finding['check']}", finding["outcome"])[1]
        return belief

    def seen(self, belief: Belief, name: str, outcome: str) -> tuple[float, Belief]:
        check = self.checks[name]
        place = check["outcomes"].index(outcome)
        rows = {frozenset(key.split("+")): row for key, row in check["p"].items()}
        return scaled({h: x * rows[h][place] for h, x in belief.items()})

    def unhelped(self, belief: Belief, name: str) -> tuple[float, Belief]:
        left: Belief = {}
        for faults, chance in belief.items():
            rest = faults - self.repairs[name][2]
            if rest:
                left[rest] = left.get(rest, 0.0) + chance
        return scaled(left)

    def ways(
        self, choose: Callable[[list], str], least: float = 0.0
    ) -> Iterator[tuple[float, float, list, Belief]]:
        """Every (chance, minutes of the action, history before it, belief before it)."""
        stack = [(1.0, self.start(), self.problem["start_state"], [])]
        while stack:
            chance, belief, state, history = stack.pop()
            name = choose(list(history))
            if name in self.checks:
                check = self.checks[name]
                yield chance, self.move[state, check["state"]] + check["minutes"], history, belief
                for outcome in check["outcomes"]:
                    z, later = self.seen(belief, name, outcome)
                    if chance * z > least:
                        entry = (name, outcome)
                        stack.append((chance * z, later, check["state"], [*history, entry]))
            else:
                minutes, place, _ = self.repairs[name]
                verify = self.problem["verify"]
                minutes += self.move[state, place] + self.move[place, verify["state"]]
                yield chance, minutes + verify["minutes"], history, belief
                z, later = self.unhelped(belief, name)
                if chance * z > least:
                    stack.append((chance * z, later, verify["state"], [*history, (name, "failed")]))

    def expected_minutes(self, choose: Callable[[list], str], least: float = 0.0) -> float:
        return sum(chance * minutes for chance, minutes, _, _ in self.ways(choose, least))


def scaled(weights: Belief) -> tuple[float, Belief]:
    total = sum(weights.values())
    return total, {h: x / total for h, x in weights.items() if x > 0} if total > 0 else {}
