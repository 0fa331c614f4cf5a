"""The records of a whole class: a page for its trainer, then a training record for each learner."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from tripmargin.drills import DrillResult
from tripmargin.ground.languages import language, say
from tripmargin.reports.paper.document import Block, Document, Heading, Table, Words
from tripmargin.reports.paper.signing import facts_table, opening
from tripmargin.reports.paper.training import (
    NO_LICENCE,
    each_once,
    mean_points,
    record_blocks,
    record_data,
)

KIND = "class"


@dataclass(frozen=True, slots=True)
class LearnerResults:
    """What somebody who learns in a class has ended.

    Attributes
    ----------
    name : str
    results : sequence of DrillResult
        In any order.
    after : sequence of DrillResult
        Of these, the ones that ended after the answer was shown to the class.
    """

    name: str
    results: Sequence[DrillResult] = ()
    after: Sequence[DrillResult] = ()


@dataclass(frozen=True, slots=True)
class ClassResults:
    """A class that was taught.

    Attributes
    ----------
    name, trainer : str
    opened : datetime
    drills : sequence of str
        In words, in their order.
    learners : sequence of LearnerResults
        In the order of joining.
    """

    name: str
    trainer: str
    opened: datetime
    drills: Sequence[str]
    learners: Sequence[LearnerResults]


def class_records(of: ClassResults, *, made: datetime, by: str = "", paper: str = "a4") -> Document:
    """The training records of a class, each on a sheet of its own so that it can be handed out.

    Parameters
    ----------
    of : ClassResults
    made : datetime
        With its zone.
    by, paper
        As in `commissioning_report`.
    """
    ended = [one for one in of.learners if one.results]
    blocks: list[Block] = [
        *opening(()),
        facts_table(
            (
                (say("Class"), of.name),
                (say("Day"), f"{of.opened:%Y-%m-%d}"),
                (say("Trainer"), of.trainer),
                (say("Drills"), "; ".join(of.drills)),
                (say("People who joined"), f"{len(of.learners)}"),
                (say("People with a record here"), f"{len(ended)}"),
            )
        ),
        Words([say(NO_LICENCE)]),
        *_board(of),
    ]
    taught = ((say("Class"), of.name), (say("Trainer"), of.trainer))
    for one in ended:
        title = say("Training record: {who}", who=one.name)
        blocks += [
            Heading(title, level=1, new_page=True),
            *opening(()),
            *record_blocks(each_once(one.results), after=one.after, by=by, taught=taught),
        ]
    data = {
        "class": of.name,
        "opened_at": of.opened.isoformat(),
        "trainer": of.trainer,
        "learners": [
            record_data(each_once(one.results), one.after)
            if one.results
            else {"name": one.name, "drills": [], "after_the_answer": [], "practised": []}
            for one in of.learners
        ],
    }
    title = say("Records of a class: {name}", name=of.name)
    return Document(KIND, title, of.name, made, by, language(), blocks, data, paper)


def _board(of: ClassResults) -> Iterator[Block]:
    yield Heading(say("Who ended what: for the trainer"), level=1)
    yield Words(
        [
            say(
                "This sheet names everybody: it stays with the trainer. The sheets behind it are"
                " one person's each."
            )
        ],
        small=True,
    )
    headers = (say("Who"), say("Drills ended"), say("Points on average"),
               say("Unsafe moves in them"))  # fmt: skip
    rows = []
    for one in of.learners:
        mean = mean_points(each_once(one.results), one.after)
        unsafe = sum(move.unsafe for each in one.results for move in each.moves)
        rows.append(
            (
                one.name,
                f"{len(each_once(one.results))}",
                "\N{EN DASH}" if mean is None else say("{points:.1f}", points=mean),
                f"{unsafe}",
            )
        )
    yield Table("", headers, rows, numbers=(1, 2, 3))
