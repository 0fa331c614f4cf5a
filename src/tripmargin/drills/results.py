"""What is kept of a drill: a small JSON file, which can be played again."""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from tripmargin.drills.moves import MOVES, SETTING_MOVES, Move
from tripmargin.drills.refusals import DrillError
from tripmargin.drills.scoring import Part, Score
from tripmargin.machine import Machine

FORM = "tripmargin drill 1"


@dataclass(frozen=True, slots=True)
class DrillResult:
    """A drill that has ended.

    Attributes
    ----------
    machine, machine_mark : str
        The machine's name, and a mark that changes with anything in its file.
    seed : int
    complaint, fault, said, kind : str
        What the operator said; the hidden fault, in words, and what it is about. Of a setting
        drill fault and kind are "setting", and nobody said anything.
    moves, best : tuple of Move
        The learner's moves and those of the best route.
    score : Score
    when : str
        ISO time.
    name : str
        Of whoever practised; may be empty.
    """

    machine: str
    machine_mark: str
    seed: int
    complaint: str
    fault: str
    said: str
    kind: str
    moves: tuple[Move, ...]
    best: tuple[Move, ...]
    score: Score
    when: str
    name: str

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready: minutes, points."""
        return {
            "form": FORM,
            "machine": self.machine,
            "machine_mark": self.machine_mark,
            "seed": self.seed,
            "complaint": self.complaint,
            "fault": self.fault,
            "said": self.said,
            "kind": self.kind,
            "score": self.score.to_dict(),
            "moves": [move.to_dict() for move in self.moves],
            "best_route": [move.to_dict() for move in self.best],
            "when": self.when,
            "name": self.name,
        }


def mark_of(machine: Machine) -> str:
    """A short mark of everything that a machine's file says."""
    from tripmargin.machine.copies import copy_of

    text = json.dumps(copy_of(machine), sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()[:12]


def read_result(path: str | os.PathLike[str]) -> DrillResult:
    """Read a kept drill.

    Raises
    ------
    DrillError
        If the file is not a drill's result; what is wrong is said.
    OSError
        If it cannot be read at all.
    """
    where = str(path)
    try:
        kept = json.loads(Path(path).read_bytes())
    except ValueError as error:  # no JSON, or not in UTF-8
        raise _not_one(where, "no JSON") from error
    if not isinstance(kept, dict) or kept.get("form") != FORM:
        raise _not_one(where, f'its "form" is not "{FORM}"')
    try:
        return _from(kept)
    except KeyError as error:
        raise _not_one(where, f"{error.args[0]!r} is missing") from error
    except (TypeError, ValueError) as error:
        raise _not_one(where, str(error)) from error


def _from(kept: dict[str, Any]) -> DrillResult:
    score = kept["score"]
    datetime.fromisoformat(kept["when"])
    seed = kept["seed"]
    if not isinstance(seed, int) or isinstance(seed, bool) or seed < 0:
        raise ValueError(f'"seed" is {seed!r}, not a whole number from 0')
    words = ("machine", "machine_mark", "complaint", "fault", "said", "kind", "when", "name")
    for name in words:
        if not isinstance(kept[name], str):
            raise ValueError(f"{name!r} is {kept[name]!r}, not a text")
    return DrillResult(
        **{name: kept[name] for name in words},
        seed=seed,
        moves=_moves(kept["moves"]),
        best=_moves(kept["best_route"]),
        score=Score(
            float(score["points"]),
            tuple(Part(p["name"], float(p["points"]), p["why"]) for p in score["parts"]),
            float(score["minutes"]),
            float(score["best_minutes"]),
        ),
    )


def _moves(kept: Any) -> tuple[Move, ...]:
    moves = tuple(Move(**each) for each in kept)
    for move in moves:
        if move.do not in (*MOVES, *SETTING_MOVES):
            raise ValueError(f"{move.do!r} is no move")
        if not all(isinstance(each, str) for each in (move.what, move.came, move.caution)):
            raise ValueError(f"{move.what!r} is no name of a move")
    return moves


def _not_one(where: str, why: str) -> DrillError:
    return DrillError(
        "result", where, f"not a drill's result ({why})",
        "a file that `tripmargin drill ... --save FILE` wrote",
        "The file is left as it is.",
    )  # fmt: skip
