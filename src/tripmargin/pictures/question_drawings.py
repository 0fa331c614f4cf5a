"""A small drawing beside a question of `machine new`: what is measured, and from where to where."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from tripmargin.ground.languages import language, later, say
from tripmargin.pictures import question_feed_path as feed
from tripmargin.pictures import question_pawls as pawls
from tripmargin.pictures import question_wiring as wiring
from tripmargin.pictures.question_shapes import Drawing
from tripmargin.pictures.trade_words import pawl_place

Draw = Callable[[Drawing], None]

DRAWN: dict[str, tuple[Draw, str]] = {
    "feed.knives": (
        feed.knives,
        later(
            "The cutterhead from its end. Each knife that passes one spot of the shear bar in one"
            " turn is numbered."
        ),
    ),
    "feed.cutterhead_speed": (
        feed.cutterhead_speed,
        later(
            "The cutterhead from its end. From outside the guard a tachometer without contact"
            " reads a mark on the shaft."
        ),
    ),
    "feed.cut_lengths": (
        feed.cut_lengths,
        later(
            "Crop comes over the shear bar's edge and lies cut behind it: above in the shortest"
            " pieces on offer, below in the longest. The length of a piece is marked."
        ),
    ),
    "feed.slip": (
        feed.slip,
        later(
            "The mat runs over the turning roll with a mark on it. Below, the way of the roll's"
            " surface and the shorter way of the crop are laid side by side; the difference is"
            " marked."
        ),
    ),
    "feed.roll_diameter": (
        feed.roll_diameter,
        later(
            "The lower front roll from its end, with the sensor inside, between two upright"
            " straight edges that touch its flutes. The distance between them is marked."
        ),
    ),
    "feed.roll_width": (
        feed.roll_width,
        later(
            "The lower front roll from the front, between the walls of the frame. Its length across"
            " the feed is marked, without the shaft ends."
        ),
    ),
    "feed.sensor_to_shear_bar": (
        feed.sensor_to_shear_bar,
        later(
            "Side view: the front rolls with the crop between them, then the shear bar and the"
            " cutterhead. Marked is the way along the crop, from above the axis of the lower roll,"
            " which holds the sensor, to the shear bar's edge."
        ),
    ),
    "feed.crop_depth": (
        feed.crop_depth,
        later(
            "Side view of the front rolls, the upper one at its lowest and, dashed, at its highest."
            " Marked are the least and the greatest opening above the top of the lower roll."
        ),
    ),
    "sensor.coil_resistance": (
        wiring.coil_resistance,
        later(
            "The sensor with its windings in series and its plug pulled. A meter set to ohms"
            " stands on the two pins of the sensor's own half."
        ),
    ),
    "sensor.rotation": (
        wiring.rotation,
        later(
            "The end of the sensor's shaft with its mark, and the mark on the frame, which points"
            " at the crop. The angle between the two marks is marked."
        ),
    ),
    "detector.noise": (
        wiring.noise,
        later(
            "An empty roll turns behind its guard. The sensor's lead goes to the amplifier; a"
            " meter for alternating voltage stands between the amplifier's test point and ground."
        ),
    ),
    "chain.supply": (
        wiring.supply,
        later(
            "The solenoid of the hold winding with its plug on. A meter for direct voltage stands"
            " on the plug's two leads, from outside."
        ),
    ),
    "chain.hold_winding.resistance": (
        wiring.winding_resistance,
        later(
            "The solenoid with its plug pulled and its two windings: one of few thick turns, one of"
            " many thin turns. A meter set to ohms stands on the one with the higher resistance."
        ),
    ),
    "chain.hold_winding.suppression": (
        wiring.suppression,
        later(
            "The hold winding between plus and minus, and a box across it with a question mark. It"
            " may be a diode, a zener diode, a resistor, or nothing."
        ),
    ),
    "clearance": (
        pawls.clearance,
        later(
            "A pawl held off its ratchet, with a gauge between the two. The gap from the pawl to"
            " the tip of the tooth is marked."
        ),
    ),
    "ratchet_teeth": (
        pawls.ratchet_teeth,
        later(
            "The ratchet from its end; its teeth are numbered from one tooth on, all the way round."
        ),
    ),
    "ratchet_turns_per_roll_turn": (
        pawls.ratchet_turns,
        later(
            "The roll and the ratchet, joined by a drive. The roll makes one turn; the turns of the"
            " ratchet are asked for."
        ),
    ),
    "limits.must_stop": (
        pawls.must_stop,
        later("A ball with its diameter marked, a bolt, and a flat piece."),
    ),
}
"""By field; a pawl's fields by their last word, for pawls have names of their own."""

NOT_DRAWN: dict[str, str] = {
    "machine.name": "a name of the person's own",
    "machine.description": "words of the person's own",
    "machine.serial": "where a type plate sits differs from machine to machine",
}
"""Fields that are asked without a drawing, and why."""

_TITLES: dict[str, str] = {
    "feed.knives": later("Drawing: knives"),
    "feed.cutterhead_speed": later("Drawing: cutterhead speed"),
    "feed.cut_lengths": later("Drawing: cut lengths"),
    "feed.slip": later("Drawing: slip"),
    "feed.roll_diameter": later("Drawing: roll diameter"),
    "feed.roll_width": later("Drawing: roll width"),
    "feed.sensor_to_shear_bar": later("Drawing: sensor to shear bar"),
    "feed.crop_depth": later("Drawing: crop depth"),
    "sensor.coil_resistance": later("Drawing: coil resistance"),
    "sensor.rotation": later("Drawing: rotation"),
    "detector.noise": later("Drawing: noise"),
    "chain.supply": later("Drawing: supply"),
    "chain.hold_winding.resistance": later("Drawing: resistance"),
    "chain.hold_winding.suppression": later("Drawing: suppression"),
    "limits.must_stop": later("Drawing: must stop"),
}
# A pawl's name stands in the title, so that two drawings of one kind on a page are two.
_OF_A_PAWL: dict[str, str] = {
    "clearance": later("Drawing: clearance of the pawl {pawl}"),
    "ratchet_teeth": later("Drawing: teeth of the ratchet of the pawl {pawl}"),
    "ratchet_turns_per_roll_turn": later("Drawing: turns of the ratchet of the pawl {pawl}"),
}


def question_drawing(name: str, *, sun: bool = False) -> str | None:
    """The drawing beside a question, 240 x 150 px.

    Parameters
    ----------
    name : str
        The field's dotted path, such as "feed.roll_diameter" or "chain.pawls.lower.clearance".
    sun : bool
        Greatest contrast, for reading outdoors.

    Returns
    -------
    str or None
        An SVG document; None where a drawing would not help, or there is no such field.

    Notes
    -----
    Schematic and not to scale; drawn for this project from what the questions say.

    Examples
    --------
    >>> question_drawing("feed.roll_width").startswith("<svg")
    True
    """
    return _drawn(name, sun, language())


@lru_cache(maxsize=200)
def _drawn(name: str, sun: bool, _language: str) -> str | None:
    """The drawing in the language spoken, which is kept by it."""
    pawl, last = "", name
    if name.startswith("chain.pawls."):
        pawl, _, last = name.removeprefix("chain.pawls.").rpartition(".")
    draw, description = DRAWN.get(last, (None, ""))
    if draw is None or bool(pawl) != (last in _OF_A_PAWL):
        return None
    drawing = Drawing(sun)
    draw(drawing)
    title = say(_OF_A_PAWL[last], pawl=pawl_place(pawl)) if pawl else say(_TITLES[last])
    return drawing.done(title, " ".join((say(description), say("Not to scale."))))
