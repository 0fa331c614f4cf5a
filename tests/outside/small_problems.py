"""Fault-finding problems in the neutral form that are small enough to write down."""

from typing import Any


def fault(name: str, rate: float, minutes: float = 1.0) -> dict[str, Any]:
    return {
        "id": name,
        "rate": rate,
        "repair_minutes": minutes,
        "price": 0.0,
        "repair_state": "s",
    }


def check(name: str, rows: dict[str, list[float]], outcomes: list[str], minutes: float = 1.0):
    return {"id": name, "minutes": minutes, "state": "s", "outcomes": outcomes, "p": rows}


def one_state(faults: list[dict], checks: list[dict]) -> dict[str, Any]:
    return {
        "id": "example",
        "faults": faults,
        "checks": checks,
        "states": ["s"],
        "state_change_minutes": [[0.0]],
        "start_state": "s",
        "verify": {"minutes": 0.0, "state": "s"},
        "minutes_per_price_unit": 0.0,
    }
