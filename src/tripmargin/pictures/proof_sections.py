"""A proof in words and tables: what a terminal, a page and the web app say of it."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite
from typing import TYPE_CHECKING, Any

from tripmargin.ground.languages import later, say, say_as
from tripmargin.ground.languages.lists import listed
from tripmargin.pictures.proof_costs import (
    cost_tables,
    cost_words,
    measure_words,
    measured_words,
)

if TYPE_CHECKING:
    from tripmargin.pictures import Section
    from tripmargin.protection import CutVerdict, Proof

OVER = " *"  # beside a stop time that is longer than the machine file allows


ROOM_WORDS = later(
    "Margin: what is left to the shear bar when the rolls stand, for metal caught over"
    " all places and heights. A race is for one place, so its margin differs. Ball: the smallest"
    " that is protected, for metal spread evenly, and even at the worst place. Places: how many of"
    " all places and heights are protected."
)
REST_AS_FILED = later("All other values are taken as filed; what is assumed is said apart.")
RUNS_ON = later("Runs on: the stop may never come about, and then the feed runs on.")


def confidence_of(proof: Proof) -> float | None:
    """The confidence that the map was asked at; None without a map."""
    return None if proof.protection_map is None else proof.protection_map.confidence


CUT = later("cut")
CHANCES = (
    later("verdict"),
    later("stopped"),
    later("seen"),
    later("in time if seen"),
    later("stop time"),
)
"""Headers over `chances`, to be said."""


def chances(cut: CutVerdict, confidence: float | None, us: bool) -> tuple[str, ...]:
    """How surely the piece is stopped, seen, and in time; and how long the stop takes."""
    from tripmargin.ground.units import percent
    from tripmargin.pictures.words import in_ms, length, said

    def share(value: float | None, asked: float | None = None) -> str:
        return say("not known") if value is None else percent(value, asked)

    over = OVER if cut.stop_time_ok is False else ""
    return (
        length(cut.cut_length, us),
        said(cut.verdict),
        share(cut.protected, confidence),
        share(cut.seen),
        share(cut.stopped_if_seen),
        say("not known") if cut.stop_time is None else f"{in_ms(cut.stop_time)}{over}",
    )


def room_headers(us: bool) -> tuple[str, ...]:
    """The headers over `room`."""
    from tripmargin.pictures.words import length_unit

    unit = length_unit(us)[0]
    return (
        say("margin, {unit}", unit=unit),
        say("within limits"),
        say("ball, {unit}", unit=unit),
        say("at worst place"),
        say("places"),
    )


def room_of(cut: CutVerdict, us: bool) -> tuple[str, ...]:
    """What is left to the shear bar, the smallest ball protected, and the share of places."""
    from tripmargin.ground.units import percent
    from tripmargin.pictures.margins import cell, span
    from tripmargin.pictures.words import length, length_unit, plain_number

    unit = length_unit(us)[1]
    balls = (
        say_as("ball", "none") if ball is None else plain_number(ball / unit)
        for ball in (cut.smallest_ball, cut.smallest_ball_worst)
    )
    margin = (
        (say("not caught"), "")
        if cut.margin is None
        else (cell(cut.margin, us), span(cut.margin, us))
    )
    places = say("not known") if cut.share_of_places is None else percent(cut.share_of_places)
    return (length(cut.cut_length, us), *margin, *balls, places)


def best_lines(proof: Proof, us: bool) -> Iterator[str]:
    """The longest cut and the smallest ball protected: even spread, and at the worst place."""
    from tripmargin.pictures.words import length

    def words(value: float | None) -> str:
        return say_as("cut or ball", "none") if value is None else length(value, us)

    what, cuts = _protected_cuts(proof, us)
    yield say(
        "{what}: {cuts}; the longest cut on offer that holds even at the worst place: {worst}.",
        what=what,
        cuts=cuts,
        worst=words(proof.longest_protected_cut_worst),
    )
    yield say(
        "Smallest protected ball: {ball}; the smallest that holds even at the worst place, at one"
        " of the cuts on offer: {worst}.",
        ball=words(proof.smallest_protected_ball),
        worst=words(proof.smallest_protected_ball_worst),
    )


def _protected_cuts(proof: Proof, us: bool) -> tuple[str, str]:
    """Which cuts are protected, from where to where, as the map's heading has it."""
    from tripmargin.pictures.answers import shortest_protected_cut
    from tripmargin.pictures.words import length

    made, longest = proof.protection_map, proof.longest_protected_cut
    if longest is None or made is None:
        cut = say_as("cut or ball", "none") if longest is None else length(longest, us)
        return say("Longest protected cut"), cut
    ends, to = longest >= made.cut_lengths.max(), length(longest, us)
    if ends:
        to = say("{cut} (the end of this map)", cut=to)
    shortest = shortest_protected_cut(made, longest)
    if shortest is not None:
        span = say(
            "{shortest} to {longest}, shorter ones are not",
            shortest=length(shortest, us),
            longest=to,
        )
        return say("Protected cuts"), span
    if ends:
        return say("Protected cuts"), say("all cuts up to {cut}", cut=to)
    return say("Longest protected cut"), to


def changed_words(proof: Proof) -> str:
    """Which fields were set otherwise for a what-if; empty where none were."""
    if not proof.changed:
        return ""
    return say("What if: {fields} set otherwise.", fields=", ".join(proof.changed))


def page_table(proof: Proof, us: bool) -> tuple[Any, Any]:
    """How surely every piece is stopped at every cut."""
    rows = [chances(cut, confidence_of(proof), us) for cut in proof.cuts]
    return _by_piece(proof, (say(CUT), *map(say, CHANCES)), rows)


def _by_piece(
    proof: Proof, headers: tuple[str, ...], rows: list[tuple[str, ...]]
) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Rows of cuts with their pieces in front, where there are several: a phone is narrow."""
    from tripmargin.pictures.trade_words import piece_words

    pieces = [cut.piece for cut in proof.cuts]
    if len(set(pieces)) < 2:
        return headers, rows
    named = [(piece_words(p), *row) for p, row in zip(pieces, rows, strict=True)]
    return (say("piece"), *headers), named


def page_sections(proof: Proof, us: bool) -> tuple[Section, ...]:
    """Margins and smallest balls, the reasons, the costs and what to measure next."""
    from tripmargin.pictures import Section
    from tripmargin.pictures.words import said

    room = _by_piece(proof, (say(CUT), *room_headers(us)), [room_of(cut, us) for cut in proof.cuts])
    made = [
        Section(say("In short"), _in_short(proof, us)),
        Section(say("Margins, balls and places"), _notes(proof), room),
        Section(say("Because"), [*proof.because_in(us), *filter(None, (changed_words(proof),))]),
    ]
    made += [
        Section(title, table=(headers, rows)) for title, headers, rows in cost_tables(proof, us)
    ]
    if proof.measure_next:
        lines = [f"{measure_words(one)} {said(one.how)}".strip() for one in proof.measure_next]
        made.append(Section(say("Measure next"), lines))
    if proof.measured:
        lines = [measured_words(one, us) for one in proof.measured]
        made.append(Section(say("Measured"), [*lines, say(REST_AS_FILED)]))
    return tuple(made)


def _in_short(proof: Proof, us: bool) -> list[str]:
    from tripmargin.sensing.piece_said import a_piece

    if not proof.cuts and proof.protection_map is None:
        return [say("Not known: the machine's file does not say enough.")]
    pieces = listed(a_piece(piece) for piece in dict.fromkeys(c.piece for c in proof.cuts))
    lines = [say("The verdict is about {pieces}.", pieces=pieces)]
    lines += best_lines(proof, us)
    if any(cut.stop_time_ok is False for cut in proof.cuts):
        longer = say("longer than the machine file's limits.stop_time.")
        lines.append(f"{OVER.strip()} {longer}")
    return lines


def _notes(proof: Proof) -> list[str]:
    endless = any(cut.margin is not None and not isfinite(cut.margin.low) for cut in proof.cuts)
    return [say(ROOM_WORDS), say(RUNS_ON)] if endless else [say(ROOM_WORDS)]


__all__ = [
    "CHANCES",
    "CUT",
    "OVER",
    "REST_AS_FILED",
    "ROOM_WORDS",
    "RUNS_ON",
    "best_lines",
    "chances",
    "changed_words",
    "confidence_of",
    "cost_tables",
    "cost_words",
    "measure_words",
    "measured_words",
    "page_sections",
    "page_table",
    "room_headers",
    "room_of",
]
