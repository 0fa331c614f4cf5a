"""A proof in words and tables: what a terminal, a page and the web app say of it."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf, isfinite, isnan
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tripmargin.machine.ageing import MeasuredInput
    from tripmargin.pictures import Section
    from tripmargin.protection import Cost, CutVerdict, Measure, Proof

OVER = " *"  # beside a stop time that is longer than the machine file allows


ROOM_WORDS = (
    "Margin: what is left to the shear bar when the rolls stand. Ball: the smallest that is"
    " protected, for metal spread evenly, and even at the worst place. Places: how many of all"
    " places and heights are protected."
)
REST_AS_FILED = "All other values are taken as filed; what is assumed is said apart."
RUNS_ON = "Runs on: the stop may never come about, and then the feed runs on."


def confidence_of(proof: Proof) -> float | None:
    """The confidence that the map was asked at; None without a map."""
    return None if proof.protection_map is None else proof.protection_map.confidence


CHANCES = ("verdict", "stopped", "seen", "in time if seen", "stop time")


def chances(cut: CutVerdict, confidence: float | None, us: bool) -> tuple[str, ...]:
    """How surely the piece is stopped, seen, and in time; and how long the stop takes."""
    from tripmargin.ground.units import percent
    from tripmargin.pictures.words import in_ms, length

    def share(value: float | None, asked: float | None = None) -> str:
        return "not known" if value is None else percent(value, asked)

    over = OVER if cut.stop_time_ok is False else ""
    return (
        length(cut.cut_length, us),
        cut.verdict,
        share(cut.protected, confidence),
        share(cut.seen),
        share(cut.stopped_if_seen),
        "not known" if cut.stop_time is None else f"{in_ms(cut.stop_time)}{over}",
    )


def room_headers(us: bool) -> tuple[str, ...]:
    """The headers over `room`."""
    from tripmargin.pictures.words import length_unit

    unit = length_unit(us)[0]
    return f"margin, {unit}", "within limits", f"ball, {unit}", "at worst place", "places"


def room_of(cut: CutVerdict, us: bool) -> tuple[str, ...]:
    """What is left to the shear bar, the smallest ball protected, and the share of places."""
    from tripmargin.ground.units import percent
    from tripmargin.pictures.margins import cell, span
    from tripmargin.pictures.words import length, length_unit, plain_number

    unit = length_unit(us)[1]
    balls = (
        "none" if ball is None else plain_number(ball / unit)
        for ball in (cut.smallest_ball, cut.smallest_ball_worst)
    )
    margin = (
        ("not caught", "") if cut.margin is None else (cell(cut.margin, us), span(cut.margin, us))
    )
    places = "not known" if cut.share_of_places is None else percent(cut.share_of_places)
    return (length(cut.cut_length, us), *margin, *balls, places)


def bests(proof: Proof, us: bool) -> Iterator[tuple[str, str, str]]:
    """The longest cut and the smallest ball protected: even spread, and at the worst place."""
    from tripmargin.pictures.words import length

    def words(value: float | None) -> str:
        return "none" if value is None else length(value, us)

    yield (*_protected_cuts(proof, us), words(proof.longest_protected_cut_worst))
    yield (
        "Smallest protected ball",
        words(proof.smallest_protected_ball),
        words(proof.smallest_protected_ball_worst),
    )


EVEN_AT_WORST = "even at the worst place, of the cuts on offer"


def _protected_cuts(proof: Proof, us: bool) -> tuple[str, str]:
    """Which cuts are protected, from where to where, as the map's heading has it."""
    from tripmargin.pictures.answers import shortest_protected_cut
    from tripmargin.pictures.words import length

    made, longest = proof.protection_map, proof.longest_protected_cut
    if longest is None or made is None:
        return "Longest protected cut", "none" if longest is None else length(longest, us)
    ends = longest >= made.cut_lengths.max()
    end = " (the end of this map)" if ends else ""
    shortest = shortest_protected_cut(made, longest)
    if shortest is not None:
        span = f"{length(shortest, us)} to {length(longest, us)}{end}"
        return "Protected cuts", f"{span}, shorter ones are not"
    if ends:
        return "Protected cuts", f"all cuts up to {length(longest, us)}{end}"
    return "Longest protected cut", length(longest, us)


def cost_tables(
    proof: Proof, us: bool
) -> Iterator[tuple[str, tuple[str, ...], list[tuple[str, ...]]]]:
    """The stages' part of the way, and what settings set otherwise would take or give."""
    stages = [cost for cost in proof.costs if cost.kind == "stage"]
    settings = [cost for cost in proof.costs if cost.kind != "stage"]
    if stages:
        yield (
            "Stages: how far the metal goes in each, at the worst cut",
            ("stage", "takes"),
            [(cost.words(us), _way(cost.margin, us)) for cost in stages],
        )
    if settings:
        yield (
            "What if: the margin that one change takes or gives, at the worst cut",
            ("change", "margin"),
            [(cost.words(us), cost_words(cost, us)) for cost in settings],
        )


def _way(margin: float, us: bool) -> str:
    unit, size, digits = ("in", 0.0254, 3) if us else ("mm", 1e-3, 1)
    return f"{margin / size:.{digits}f} {unit}" if isfinite(margin) else "never ends"


def cost_words(cost: Cost, us: bool) -> str:
    """What a change does to the margin: takes some, gives some, or decides whether it stops."""
    if isnan(cost.margin):
        return "still never stops"
    if not isfinite(cost.margin):
        return "never stops" if cost.margin == inf else "then it stops"
    way = _way(abs(cost.margin), us)
    if not float(way.split()[0]):
        return "hardly changes"
    return f"{'takes' if cost.margin > 0 else 'gives'} {way}"


def measure_words(measure: Measure) -> str:
    """Which field to measure, and how much of the doubt is its."""
    from tripmargin.ground.units import percent

    said = "assumed" if measure.assumed else "now"
    return (
        f"{measure.field} ({said} {measure.written}):"
        f" {percent(measure.share)} of the doubt about the {measure.about}."
    )


def measured_words(one: MeasuredInput, us: bool) -> str:
    """One measured input: its value, day, who, with what, and what its age does to it."""
    who = f" by {one.by}" if one.by else ""
    what = f" with {one.how}" if one.how else ""
    said = f"{one.field}: {one.filed.shown(us=us)}, measured {one.on.isoformat()}{who}{what}"
    years = f"{one.seasons:.1f} years"
    if one.drift is None:
        return f"{said}; no drift is stated, so {years} change nothing."
    return f"{said}; taken as {one.now.shown(us=us)} after {years} at {one.drift} a year."


def changed_words(proof: Proof) -> str:
    """Which fields were set otherwise for a what-if; empty where none were."""
    return f"What if: {', '.join(proof.changed)} set otherwise." if proof.changed else ""


def page_table(proof: Proof, us: bool) -> tuple[Any, Any]:
    """How surely every piece is stopped at every cut."""
    rows = [chances(cut, confidence_of(proof), us) for cut in proof.cuts]
    return _by_piece(proof, ("cut", *CHANCES), rows)


def _by_piece(
    proof: Proof, headers: tuple[str, ...], rows: list[tuple[str, ...]]
) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Rows of cuts with their pieces in front, where there are several: a phone is narrow."""
    pieces = [cut.piece for cut in proof.cuts]
    if len(set(pieces)) < 2:
        return headers, rows
    return ("piece", *headers), [(p, *row) for p, row in zip(pieces, rows, strict=True)]


def page_sections(proof: Proof, us: bool) -> tuple[Section, ...]:
    """Margins and smallest balls, the reasons, the costs and what to measure next."""
    from tripmargin.pictures import Section

    room = _by_piece(proof, ("cut", *room_headers(us)), [room_of(cut, us) for cut in proof.cuts])
    made = [
        Section("In short", _in_short(proof, us)),
        Section("Margins, balls and places", _notes(proof), room),
        Section("Because", [*proof.because_in(us), *filter(None, (changed_words(proof),))]),
    ]
    made += [
        Section(title, table=(headers, rows)) for title, headers, rows in cost_tables(proof, us)
    ]
    if proof.measure_next:
        lines = [f"{measure_words(one)} {one.how}".strip() for one in proof.measure_next]
        made.append(Section("Measure next", lines))
    if proof.measured:
        lines = [measured_words(one, us) for one in proof.measured]
        made.append(Section("Measured", [*lines, REST_AS_FILED]))
    return tuple(made)


def _in_short(proof: Proof, us: bool) -> list[str]:
    from tripmargin.protection.reasons import a_piece

    if not proof.cuts and proof.protection_map is None:
        return ["Not known: the machine's file does not say enough."]
    pieces = " and ".join(a_piece(piece) for piece in dict.fromkeys(c.piece for c in proof.cuts))
    lines = [f"The verdict is about {pieces}."]
    lines += [
        f"{what}: {even}; {EVEN_AT_WORST}: {worst}." for what, even, worst in bests(proof, us)
    ]
    if any(cut.stop_time_ok is False for cut in proof.cuts):
        lines.append(f"{OVER.strip()} longer than the machine file's limits.stop_time.")
    return lines


def _notes(proof: Proof) -> list[str]:
    endless = any(cut.margin is not None and not isfinite(cut.margin.low) for cut in proof.cuts)
    return [ROOM_WORDS, RUNS_ON] if endless else [ROOM_WORDS]
