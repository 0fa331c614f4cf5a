"""What is kept of a drill: a small JSON file, which can be played again."""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from tripmargin.drills.moves import MOVES, SETTING_MOVES, STOP_MOVES, Move
from tripmargin.drills.refusals import DrillError
from tripmargin.drills.scoring import Part, Score
from tripmargin.drills.told import said
from tripmargin.ground.languages import say
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
        drill fault and kind are "setting", and nobody said anything; of a "would it stop?" drill
        they are "would it stop".
    moves, best : tuple of Move
        The learner's moves and those of the best route.
    score : Score
    when : str
        ISO time.
    name : str
        Of whoever practised; may be empty.
    by_kind : tuple of (str, float)
        Kinds of lesson and their points, where a drill holds several.
    about : tuple of str
        Kinds of lesson that were asked for; with the seed they give the same questions.
    us : bool
        Whether gaps were measured by feelers in inches.
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
    by_kind: tuple[tuple[str, float], ...] = ()
    about: tuple[str, ...] = ()
    us: bool = False

    @property
    def hidden(self) -> str:
        """What was hidden, said now; of a result read from a file, as it was kept."""
        return said(self.said)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready: minutes, points."""
        return {
            "form": FORM,
            "machine": self.machine,
            "machine_mark": self.machine_mark,
            "seed": self.seed,
            "complaint": self.complaint,
            "fault": self.fault,
            "said": str(self.said),
            "kind": self.kind,
            "score": self.score.to_dict(),
            "moves": [move.to_dict() for move in self.moves],
            "best_route": [move.to_dict() for move in self.best],
            "when": self.when,
            "name": self.name,
            **({"by_kind": dict(self.by_kind)} if self.by_kind else {}),
            **({"about": list(self.about)} if self.about else {}),
            **({"us": True} if self.us else {}),
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
        raise _not_one(where, say("no JSON")) from error
    if not isinstance(kept, dict) or kept.get("form") != FORM:
        raise _not_one(where, say('its "form" is not "{form}"', form=FORM))
    return result_from(kept, where)


def result_from(kept: dict[str, Any], where: str = "result") -> DrillResult:
    """A kept drill of what `DrillResult.to_dict` made of it; `where` names it in an error.

    Raises
    ------
    DrillError
        If something is missing or is not what it should be.
    """
    try:
        return _from(kept)
    except KeyError as error:
        raise _not_one(where, say("{field!r} is missing", field=error.args[0])) from error
    except (TypeError, ValueError) as error:
        raise _not_one(where, str(error)) from error


def _from(kept: dict[str, Any]) -> DrillResult:
    score = kept["score"]
    datetime.fromisoformat(kept["when"])
    seed = kept["seed"]
    if not isinstance(seed, int) or isinstance(seed, bool) or seed < 0:
        raise ValueError(say('"seed" is {seen!r}, not a whole number from 0', seen=seed))
    words = ("machine", "machine_mark", "complaint", "fault", "said", "kind", "when", "name")
    for name in words:
        if not isinstance(kept[name], str):
            raise ValueError(say("{field!r} is {seen!r}, not a text", field=name, seen=kept[name]))
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
        by_kind=_by_kind(kept.get("by_kind", {})),
        about=_texts("about", kept.get("about", [])),
        us=_yes_or_no("us", kept.get("us", False)),
    )


def _by_kind(kept: Any) -> tuple[tuple[str, float], ...]:
    """Older files have none."""
    if not isinstance(kept, dict):
        raise ValueError(say('"by_kind" is {seen!r}, not points by kind', seen=kept))
    return tuple((kind, float(points)) for kind, points in kept.items())


def _yes_or_no(name: str, kept: Any) -> bool:
    if not isinstance(kept, bool):
        raise ValueError(say('"{field}" is {seen!r}, not true or false', field=name, seen=kept))
    return kept


def _texts(name: str, kept: Any) -> tuple[str, ...]:
    if not isinstance(kept, list) or not all(isinstance(each, str) for each in kept):
        raise ValueError(say('"{field}" is {seen!r}, not a list of texts', field=name, seen=kept))
    return tuple(kept)


def _moves(kept: Any) -> tuple[Move, ...]:
    moves = tuple(Move(**each) for each in kept)
    for move in moves:
        if move.do not in (*MOVES, *SETTING_MOVES, *STOP_MOVES):
            raise ValueError(say("{move!r} is no move", move=move.do))
        if not all(isinstance(each, str) for each in (move.what, move.came, move.caution)):
            raise ValueError(say("{name!r} is no name of a move", name=move.what))
    return moves


def _not_one(where: str, why: str) -> DrillError:
    return DrillError(
        say("result"), where, say("not a drill's result ({why})", why=why),
        say("a file that `tripmargin drill ... --save FILE` wrote"),
        say("The file is left as it is."),
    )  # fmt: skip
