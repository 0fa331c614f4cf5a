"""Machines made on the spot from plain numbers in SI, for tests that need no file.

`made` writes the tables as the machine file has them, so that a test goes through the same door as
a user does; `rect` and `normal` write quantities with limits.
"""

from __future__ import annotations

import copy
import tomllib
from typing import Any

from tests.machine.files import plover_path
from tripmargin.machine import Machine
from tripmargin.machine.files import Sheet
from tripmargin.machine.loading import machine_from

TWO_OPPOSED_WINDINGS = "magnets the same way up, windings opposed"
BOTH_OPPOSED = "magnets and windings opposed"


def metres(values: Any) -> list[str]:
    return [f"{float(v):.12g} m" for v in values]


def rect(low: float, high: float, unit: str) -> str:
    return f"{low:.15g} {unit} .. {high:.15g} {unit}"


def normal(middle: float, sd: float, unit: str) -> str:
    return f"{middle:.15g} {unit} +- {sd:.15g} {unit} (sd)"


def _tesla(value: float | str) -> str:
    return value if isinstance(value, str) else f"{value:.12g} T"


def sensor_tables(sensor: dict[str, Any], rotation: str = "0 deg") -> dict[str, Any]:
    """The sensor's tables from the neutral form of the reference cases."""
    assemblies = []
    for one in sensor["assemblies"]:
        made: dict[str, Any] = {"centre": metres(one["centre"])}
        if "magnet" in one:
            magnet = one["magnet"]
            made["magnet"] = {
                "size": metres(magnet["size"]),
                "remanence": _tesla(magnet["remanence"]),
                "direction": list(magnet["direction"]),
            }
        if "coil" in one:
            coil = one["coil"]
            made["coil"] = {
                "turns": coil["turns"],
                "inner": metres(coil["inner"]),
                "outer": metres(coil["outer"]),
                "height": f"{coil['height']:.12g} m",
                "sense": coil["sense"],
            }
        assemblies.append(made)
    tables: dict[str, Any] = {"rotation": rotation, "assemblies": assemblies}
    if (plate := sensor.get("keeper")) is not None:
        tables["keeper"] = {
            "centre": metres(plate["centre"]),
            "size": metres(plate["size"]),
            "relative_permeability": plate["relative_permeability"],
        }
    return tables


def two_assemblies(how: str = TWO_OPPOSED_WINDINGS, **changes: Any) -> dict[str, Any]:
    """A small invented sensor of two magnets with their windings, without a keeper."""
    down = 1 if how == TWO_OPPOSED_WINDINGS else -1
    given = {"turns": 2000, "remanence": 0.4, "at": 0.15, "magnet_length": 0.22} | changes

    def one(side: int, up: int) -> dict[str, Any]:
        return {
            "centre": [side * given["at"], 0.0, 0.055],
            "magnet": {
                "size": [given["magnet_length"], 0.025, 0.025],
                "remanence": given["remanence"],
                "direction": [0, 0, up],
            },
            "coil": {
                "turns": given["turns"],
                "inner": [given["magnet_length"] + 0.006, 0.031],
                "outer": [given["magnet_length"] + 0.030, 0.055],
                "height": 0.022,
                "sense": side,
            },
        }

    return {"assemblies": [one(1, 1), one(-1, down)]}


def lopsided() -> dict[str, Any]:
    """One assembly off the middle, tilted magnet: no symmetry to hide behind."""
    sensor = two_assemblies(at=0.06, magnet_length=0.3)
    sensor["assemblies"] = sensor["assemblies"][:1]
    sensor["assemblies"][0]["magnet"]["direction"] = [0.0, 0.35, 1.0]
    return sensor


FEED = {
    "knives": 10,
    "cutterhead_speed": "1000 rpm",
    "cut_lengths": ["6 mm", "12 mm", "20 mm"],
    "slip": "0 %",
    "roll_diameter": "0.19 m",
    "roll_width": "0.6 m",
    "sensor_to_shear_bar": "0.33 m",
    "crop_depth": "10 mm .. 80 mm",
}
DETECTOR = {
    "gain": 900,
    "low_cut": "6 Hz",
    "high_cut": "160 Hz",
    "threshold": "1.5 V",
    "noise": "0.05 V",
    "decision_delay": "3 ms",
}
PAWL = {
    "name": "lower",
    "clearance": "3.5 mm",
    "swing_time": {"time": "7 ms", "at_clearance": "3.5 mm"},
    "ratchet_teeth": 18,
    "ratchet_turns_per_roll_turn": 1.0,
}
CHAIN = {
    "supply": "13.2 V",
    "relay_release": "6 ms",
    "hold_winding": {
        "resistance": "18 ohm",
        "inductance": "0.16 H",
        "release_current": "0.2 A",
        "suppression": {"kind": "diode", "voltage": "0.8 V"},
    },
    "plunger": {"travel_time": "7 ms"},
    "pawls": [PAWL],
    "rest": {"roll_angle": "4 deg"},
}


def made(
    *,
    sensor: dict[str, Any] | None = None,
    rotation: str = "0 deg",
    feed: dict[str, Any] | None = None,
    detector: dict[str, Any] | None = None,
    chain: dict[str, Any] | None = None,
    limits: dict[str, Any] | None = None,
    without: tuple[str, ...] = (),
) -> Machine:
    """A machine whose every input is exact, save what is given here; keys of None are left out."""
    tables = {
        "machine": {"name": "Made"},
        "feed": FEED | (feed or {}),
        "sensor": sensor_tables(sensor or two_assemblies(), rotation),
        "detector": DETECTOR | (detector or {}),
        "chain": CHAIN | (chain or {}),
        "limits": limits or {},
    }
    kept = {name: _without_none(table) for name, table in tables.items() if name not in without}
    return machine_from((Sheet("made.toml", b"", kept),), "made.toml")


def _without_none(table: dict[str, Any]) -> dict[str, Any]:
    return {k: v for k, v in copy.deepcopy(table).items() if v is not None}


def plover(*, keeper: bool = True, **sections: dict[str, Any]) -> Machine:
    """The contract's example, some keys of its sections set otherwise."""
    tables = tomllib.loads(plover_path().read_text(encoding="utf-8"))
    if not keeper:
        del tables["sensor"]["keeper"]
    for section, changes in sections.items():
        tables[section] = _without_none(tables.get(section, {}) | changes)
    return machine_from((Sheet("plover.toml", b"", tables),), "plover.toml")
