"""The commissioning report: how a machine is set, and whether it is protected so."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import language, later, say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.machine import Machine, digest_of
from tripmargin.machine.cautions import CAUTIONS
from tripmargin.pictures import protection_map_picture, race_picture
from tripmargin.pictures.answers import place_words, race_answers
from tripmargin.pictures.proof_sections import page_sections, page_table
from tripmargin.pictures.words import length, said, time_ms
from tripmargin.protection import Proof, Race, prove, race
from tripmargin.protection.costs import stage_words
from tripmargin.reports.paper.by_log import ByLog, by_log_part
from tripmargin.reports.paper.document import (
    Block,
    Document,
    Drawing,
    Heading,
    Listed,
    Space,
    Table,
    Verdict,
    Words,
)
from tripmargin.reports.paper.machine_tables import LIMITS_WORDS, assumed_table, settings_tables
from tripmargin.reports.paper.sections import of_section
from tripmargin.reports.paper.signing import facts_table, opening, to_sign
from tripmargin.sensing import Piece
from tripmargin.sensing.piece_said import said_piece

KIND = "commissioning"
BLANK_TESTS = 5
REASONS = 3  # sections of a proof before its map: in short, margins, because
ROLES = (later("Proved by"), later("Handed over to"))


@dataclass(frozen=True, slots=True)
class Trial:
    """A test that somebody made on the machine, from its log.

    Attributes
    ----------
    at : datetime
    kind, said, who : str
        What it was, what came of it, and who entered it.
    """

    at: datetime
    kind: str
    said: str
    who: str

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready."""
        return {"at": self.at.isoformat(), "kind": self.kind, "said": self.said, "who": self.who}


def commissioning_report(
    machine: Machine,
    *,
    made: datetime,
    by: str = "",
    cut_length: float | None = None,
    tests: Sequence[Trial] = (),
    by_log: ByLog | None = None,
    us: bool = False,
    paper: str = "a4",
    progress: Callable[[float], None] | None = None,
) -> Document:
    """The commissioning report of a machine.

    Parameters
    ----------
    machine : Machine
    made : datetime
        With its zone; the machine is proved for that day.
    by : str
        Who makes the report.
    cut_length : float, m, optional
        The cut in use, at which the race is run; by default the longest on offer.
    tests : sequence of Trial
        From the machine's log, newest first.
    by_log : ByLog, optional
        How the machine stands by its log. Unless that is "protected", page 1 says it before the
        calculation.
    us : bool
        US units.
    paper : str
        "a4" or "letter".
    progress : callable, optional
        Told the share done, 0 to 1.

    Raises
    ------
    MachineFileError, ValueError
        If the machine's file or the cut length cannot be.
    """
    proof = prove(machine, on=made.date(), progress=progress)
    cut = cut_length if cut_length is not None else _longest(machine)
    run = _race(machine, cut)
    blocks = [
        *opening((CAUTIONS,)),
        *by_log_part(machine, by_log),
        *_about(machine, made, by),
        *_proof(proof, us, alone=by_log is not None and by_log.is_against),
        *_race_part(run, cut, chosen=cut_length is not None, us=us),
        *_settings(machine, proof, us),
        *_tests(tests),
        *_signing(),
    ]
    data = {
        "machine": machine,
        "machine_digest": digest_of(machine),
        "proof": proof,
        "race": run,
        "cut_in_use_m": cut,
        "tests": list(tests),
        "by_log": by_log and by_log.to_dict(),
    }
    title = say("Commissioning report: {machine}", machine=machine.name)
    return Document(KIND, title, machine.name, made, by, language(), blocks, data, paper)


def _longest(machine: Machine) -> float | None:
    cuts = machine.feed.cut_lengths if machine.feed is not None else ()
    return max(cuts) if cuts else None


def _race(machine: Machine, cut: float | None) -> Race | None:
    if cut is None:
        return None
    try:
        return race(machine, cut_length=cut, piece=Piece.from_text(machine.limits.must_stop))
    except NotKnownError:
        return None


def _about(machine: Machine, made: datetime, by: str) -> Iterator[Block]:
    yield facts_table(
        (
            (say("Machine"), machine.name),
            (say("What it is"), as_written(machine.machine.description or "")),
            (say("Serial number"), machine.machine.serial or ""),
            (say("What must be stopped"), said_piece(machine.limits.must_stop)),
            (say("Mark of the machine's file"), digest_of(machine)[:16]),
            (say("Proved for"), f"{made:%Y-%m-%d}"),
            (say("Made by"), by),
        )
    )


def _proof(proof: Proof, us: bool, *, alone: bool) -> Iterator[Block]:
    sections = page_sections(proof, us)
    yield Heading(say("Is this machine protected?"), level=1)
    verdict = say(proof.verdict)
    named = {"machine": proof.machine_name, "verdict": verdict}
    word = (
        say("{machine}: {verdict}, by calculation alone", **named)
        if alone
        else say("{machine}: {verdict}", **named)
    )
    yield Verdict(word, sections[0].lines)
    if proof.needs:
        yield Words([say("The machine's file does not say:")])
        yield Listed(proof.needs)
    if proof.cuts:
        headers, rows = page_table(proof, us)
        title = say("How surely the piece is stopped, at each cut")
        yield Table(title, [said(one) for one in headers], rows)
    for section in sections[1:REASONS]:
        yield from of_section(section)
    drawn = proof.protection_map
    if drawn is not None:
        yield Heading(say("Protection map"), level=1)
        yield Drawing(lambda width, sun: protection_map_picture(drawn, width=width, sun=sun, us=us))
    for section in sections[REASONS:]:
        yield from of_section(section)


def _race_part(run: Race | None, cut: float | None, *, chosen: bool, us: bool) -> Iterator[Block]:
    yield Heading(say("The race at the cut in use"), level=1)
    if run is None or cut is None:
        yield Words([say("Not known: the machine's file does not say enough for the race.")])
        return
    said = length(cut, us)
    yield Words(
        [
            say("Cut in use: {cut}.", cut=said)
            if chosen
            else say("No cut in use was named: this is the longest on offer, {cut}.", cut=said)
        ]
    )
    at = place_words(run, us)
    if at:
        words = say(
            "This race is for metal at one place: {place}. The margins of the cuts are over all"
            " places and heights, so the two differ.",
            place=at,
        )
        yield Words([words])
    yield Drawing(lambda width, sun: race_picture(run, width=width, sun=sun, us=us))
    yield Listed(race_answers(run, us))
    headers = (say("Stage"), say("middle, ms"), say("least, ms"), say("greatest, ms"))
    rows = [
        (stage_words(one.name), *(time_ms(t) for t in (one.nominal, one.low, one.high)))
        for one in run.stages
    ]
    total = run.stop_time
    rows.append((say("whole stop"), *(time_ms(t) for t in (total, total.low, total.high))))
    yield Table(say("How long each stage takes"), headers, rows, numbers=(1, 2, 3))


def _settings(machine: Machine, proof: Proof, us: bool) -> Iterator[Block]:
    yield Heading(say("What is assumed"), level=1)
    assumed = assumed_table(machine, us)
    if assumed is None:
        yield Words([say("Nothing: the machine's file gives every value that is worked with.")])
    else:
        yield Words(
            [
                say(
                    "The machine's file does not give these values. They are taken with wide"
                    " limits, and the verdict allows for them."
                )
            ]
        )
        yield assumed
    yield Heading(say("Settings"), level=1)
    yield Words([say(LIMITS_WORDS)], small=True)
    yield from settings_tables(machine, proof.measured, us)


def _tests(tests: Sequence[Trial]) -> Iterator[Block]:
    yield Heading(say("Tests made"), level=1)
    headers = (say("Date"), say("Test"), say("What came of it"), say("Who"))
    if tests:
        yield Words(
            [say("From the machine's log, trips and missed metal too, the newest first.")],
            small=True,
        )
        rows = [(f"{one.at:%Y-%m-%d}", one.kind, one.said, one.who) for one in tests]
        yield Table("", headers, rows, shares=(14, 18, 56, 16))
        return
    yield Words([say("No test is taken from a log. Write in what was made.")], small=True)
    empty = [(Space.WRITE,) * len(headers)] * BLANK_TESTS
    yield Table("", headers, empty, shares=(14, 24, 44, 20), named=False)


def _signing() -> Iterator[Block]:
    yield Heading(say("Signed"), level=1)
    yield Words(
        [
            say(
                "The report holds for the machine as set and measured on its day. It is worked out"
                " again after every change of a setting, of a part or of the cut lengths."
            )
        ]
    )
    yield to_sign([say(role) for role in ROLES])
