"""A question of "would it stop?" in words: what is asked, and what the race says."""

from __future__ import annotations

from math import isfinite

from tripmargin.drills.would_it_stop_answers import EVEN_ODDS, REGION_WORDS, chance_words
from tripmargin.drills.would_it_stop_kinds import (
    FAST_FEED,
    IN_TIME,
    NOT_FERROUS,
    SLOW_FEED,
    SMALL_PIECE,
    WEAK_PLACE,
    cuts_on_offer,
)
from tripmargin.drills.would_it_stop_questions import Question
from tripmargin.ground.languages import later, numeral, say, say_as
from tripmargin.ground.languages.own_words import as_written
from tripmargin.ground.tables import material
from tripmargin.ground.units import INCH, percent, shown
from tripmargin.machine import Machine
from tripmargin.sensing import Piece
from tripmargin.sensing.piece_said import said_piece

_LIES = {
    "across": later("{piece}, lying across the crop's way"),
    "along": later("{piece}, lying along the crop's way"),
    "upright": later("{piece}, upright"),
}
_FIELDS = {
    "chain.supply": later("supply at the hold winding"),
    "feed.cutterhead_speed": later("speed of the cutterhead"),
}
_SUPPRESSIONS = {
    "diode": later("a diode of {value}"),
    "resistor": later("a resistor of {value}"),
    "zener": later("a zener diode of {value}"),
    "none": later("nothing"),
}
_NEAR_SIGNAL, _NEAR_BAR = 1.6, 0.2
"""Below so many thresholds a signal is told as near; below such a share of the way to the shear bar
the least margin is. Our own choice."""


def asked_words(question: Question, *, us: bool = False) -> tuple[tuple[str, str], ...]:
    """What is asked, as labels and values.

    Parameters
    ----------
    question : Question
    us : bool
        US units instead of metric.
    """
    at = question.situation
    cut, pace = _mm(at.cut_length, us), shown(question.race.metal_speed, "speed", us=us, digits=3)
    return (
        (say("Piece"), piece_words(at.piece, us=us)),
        (say("Across"), _across(at.x or 0.0, us)),
        (say("Height"), say("{height} above the lower roll", height=_mm(at.height or 0.0, us))),
        (say("Cut"), say("{cut}; the metal moves at {pace}", cut=cut, pace=pace)),
        (say("Set otherwise"), _settings(question, us)),
    )  # fmt: skip


def machine_words(machine: Machine, *, us: bool = False) -> tuple[str, ...]:
    """What anybody at the machine could look up before they judge; sentences."""
    (bar,) = machine.need(later("would it stop?"), "feed.sensor_to_shear_bar")
    cuts = ", ".join(_mm(cut, us) for cut in cuts_on_offer(machine))
    made = [
        say("From the sensor's axis to the shear bar: {bar}.", bar=bar.shown(us=us)),
        say("Cuts on offer: {cuts}.", cuts=cuts),
    ]
    if machine.sensor is not None:
        places = ", ".join(_mm(one.centre[0].nominal, us) for one in machine.sensor.assemblies)
        made.append(
            say("Magnets, across from the roll's middle, right positive: {places}.", places=places)
        )
    return tuple(made)


def told_words(question: Question, *, us: bool = False) -> tuple[str, ...]:
    """What the race says: chances, signal, way, the lesson, the place on the map; sentences."""
    missed, late, safe = (chance_words(chance) for chance in question.chances)
    region = say(REGION_WORDS[question.region])
    return (
        say(
            "Missed {missed}, too late {late}, protected {safe}. The map calls that {region}.",
            missed=missed, late=late, safe=safe, region=region,
        ),
        *_race(question, us),
        _lesson(question, us),
        _on_map(question, us),
    )  # fmt: skip


def _on_map(question: Question, us: bool) -> str:
    cut, ball = (_mm(value, us) for value in question.on_map)
    if abs(question.as_ball - Piece.from_text(question.situation.piece).dimensions[0]) < 5e-5:
        return say(
            "On the protection map it stands at {cut} across and {ball} up; the map is for metal"
            " anywhere in the crop.", cut=cut, ball=ball,
        )  # fmt: skip
    return say(
        "Its signal is that of a steel ball of {ball} there. On the protection map it stands at"
        " {cut} across and {ball} up; the map is for metal anywhere in the crop.",
        cut=cut, ball=ball,
    )  # fmt: skip


def piece_words(text: str, *, us: bool = False) -> str:
    """A piece and how it lies.

    >>> piece_words("8 mm x 60 mm rod along"), piece_words("20 mm ball", us=True)
    ("8 mm x 60 mm rod, lying along the crop's way", '20 mm ball (0.787 in)')
    """
    piece, words = Piece.from_text(text), text.rsplit(" ", 1)[-1]
    name = said_piece(piece.name)
    if us and piece.name.startswith(f"{piece.dimensions[0] * 1e3:.6g} mm"):
        sizes = " x ".join(numeral(value / INCH, ".3g") for value in piece.dimensions)
        name = say("{piece} ({sizes} in)", piece=name, sizes=sizes)
    return say(_LIES[words], piece=name) if words in _LIES else name


def _race(question: Question, us: bool) -> tuple[str, ...]:
    run = question.race
    if run.crossing_y is None or run.margin is None:
        share = percent(question.signal)
        return (say("With everything at its middle its signal reaches {share} of the threshold.",
                    share=share),)  # fmt: skip
    signal = say("Its signal reaches {times:.3g} times the threshold.", times=question.signal)
    if not isfinite(run.travel):
        return signal, say("The stop never comes about: a spring does not win, and the feed runs.")
    values = {
        "place": _mm(abs(run.crossing_y), us),
        "travel": _mm(float(run.travel), us),
        "margin": _mm(abs(float(run.margin)), us),
        "low": _mm(run.margin.low, us),
        "high": _mm(run.margin.high, us),
    }
    if run.margin >= 0 and run.crossing_y < 0:
        way = say(
            "It is caught {place} before the sensor's axis and travels {travel} while the feed"
            " stops: {margin} are left to the shear bar ({low} to {high}).", **values
        )  # fmt: skip
    elif run.margin >= 0:
        way = say(
            "It is caught {place} behind the sensor's axis and travels {travel} while the feed"
            " stops: {margin} are left to the shear bar ({low} to {high}).", **values
        )  # fmt: skip
    elif run.crossing_y < 0:
        way = say(
            "It is caught {place} before the sensor's axis and travels {travel} while the feed"
            " stops: that is {margin} past the shear bar.", **values
        )  # fmt: skip
    else:
        way = say(
            "It is caught {place} behind the sensor's axis and travels {travel} while the feed"
            " stops: that is {margin} past the shear bar.", **values
        )  # fmt: skip
    return signal, way


def _lesson(question: Question, us: bool) -> str:
    kind, better = question.kind, question.better
    if kind == NOT_FERROUS:
        return _not_ferrous(question.situation.piece)
    if kind == IN_TIME:
        return _in_time(question)
    if better is None:
        return _no_way_out(kind)
    cut = _mm(better.race.cut_length, us)
    in_time = better.race.probability_through < EVEN_ODDS
    if kind == SLOW_FEED and in_time:
        return say("At a cut of {cut} it would be seen and stopped in time: faster metal gives a"
                   " larger signal.", cut=cut)  # fmt: skip
    if kind == SLOW_FEED:
        return say("At a cut of {cut} it would be seen, for faster metal gives a larger signal,"
                   " but it would be stopped too late.", cut=cut)  # fmt: skip
    if kind == WEAK_PLACE:
        return say("Over a magnet, at the middle height, it would be seen: the signal falls"
                   " steeply with the distance.")  # fmt: skip
    if kind == FAST_FEED:
        return say("At a cut of {cut} it would be stopped in time: the stop takes as long, but"
                   " the metal travels less meanwhile.", cut=cut)  # fmt: skip
    if kind == SMALL_PIECE:
        return say("No cut on offer saves it: at {cut} it would be missed, and at longer cuts it"
                   " comes too late.", cut=cut)  # fmt: skip
    more = float(question.race.travel) - float(better.race.travel)
    if isfinite(more) and more > 0:
        return say("As the machine's file has it, it would be stopped in time: what is set"
                   " otherwise costs {more} of travel.", more=_mm(more, us))  # fmt: skip
    return say("As the machine's file has it, it would be stopped in time.")


def _no_way_out(kind: str) -> str:
    if kind == SMALL_PIECE:
        return say("Even over a magnet, at the middle height, it would be missed at this cut: the"
                   " signal shrinks with the volume.")  # fmt: skip
    return say("Even the shortest cut on offer brings it too late: the stop itself takes too long.")


def _in_time(question: Question) -> str:
    run = question.race
    if question.signal < _NEAR_SIGNAL:
        return say("A little smaller, and it would be missed: its signal is near the threshold.")
    if run.margin is not None and run.margin.low < _NEAR_BAR * run.sensor_to_shear_bar:
        return say("A little faster, or a stop a little longer, and it would come too late.")
    return say("Neither is near here: the signal is strong, and much of the way is left.")


def _not_ferrous(piece: str) -> str:
    made_of = material(Piece.from_text(piece).material)
    if made_of.conductivity < 1.0:  # S/m, a stone
        return say("A stone answers no magnet: no sensor of this kind sees it.")
    return say(
        "Metal that a magnet hardly moves is seen only by the currents that the moving field"
        " drives in it: large pieces at a fast feed may be, small ones are not. Nothing protects"
        " the knives from these."
    )


def _across(x: float, us: bool) -> str:
    if abs(x) < 5e-4:
        return say("in the middle of the roll")
    if x > 0:
        return say("{way} right of the roll's middle, seen the way that the crop goes",
                   way=_mm(x, us))  # fmt: skip
    return say("{way} left of the roll's middle, seen the way that the crop goes",
               way=_mm(-x, us))  # fmt: skip


def _settings(question: Question, us: bool) -> str:
    made = [_setting(question.machine, path, us) for path in question.situation.settings]
    return "; ".join(made) or say("nothing: all is as in the machine's file")


def _setting(machine: Machine, path: str, us: bool) -> str:
    """A field set otherwise, with its value and tolerance."""
    parts = path.split(".")
    if path.endswith(".suppression") and machine.chain is not None:
        return say("suppression of the hold winding: {kind}", kind=_fitted(machine))
    given = machine.get(path)
    value = given.shown(us=us) if given is not None else ""
    if parts[-1] == "clearance":
        pawl = {"lower": say_as("pawl", "lower"), "upper": say_as("pawl", "upper")}.get(parts[2])
        return say(
            "clearance of the {pawl} pawl: {value}", pawl=pawl or as_written(parts[2]), value=value
        )
    return say("{field}: {value}", field=say(_FIELDS[path]), value=value)


def _fitted(machine: Machine) -> str:
    assert machine.chain is not None
    fitted = machine.chain.hold_winding.suppression
    values = (fitted.resistance, fitted.voltage)
    number = next((each.shown() for each in values if each is not None), "")
    return say(_SUPPRESSIONS[fitted.kind], value=number)


def _mm(value: float, us: bool) -> str:
    return shown(value, "length", us=us, digits=3)
