"""What is kept by a key (pawls, stages, pieces, verdicts, a table's columns), in people's words."""

from __future__ import annotations

from tripmargin.ground.languages import later, say, say_as
from tripmargin.ground.languages.own_words import as_written
from tripmargin.pictures.words import said


def pawl_place(name: str) -> str:
    """Which pawl it is, by the machine file's name; the two usual names are said.

    >>> pawl_place("lower"), pawl_place("left")
    ('lower', 'left')
    """
    usual = {"lower": say_as("pawl", "lower"), "upper": say_as("pawl", "upper")}
    return usual.get(name) or as_written(name)


def pawl_words(name: str) -> str:
    """A pawl inside a line.

    >>> pawl_words("lower")
    'lower pawl'
    """
    return say("{pawl} pawl", pawl=pawl_place(name))


def pawl_title(name: str) -> str:
    """A pawl at the beginning of a line.

    >>> pawl_title("lower"), pawl_title("left")
    ('Lower pawl', 'Left pawl')
    """
    usual = {"lower": say("Lower pawl"), "upper": say("Upper pawl")}
    # A name of the person's own begins with a capital, as it does in English.
    return usual.get(name) or say("{name} pawl", name=as_written(name).capitalize())


def stage_words(name: str) -> str:
    """A stage of the stop, by the name that the results have it by.

    >>> stage_words("relay_release"), stage_words("swing lower")
    ('relay release', 'swing lower')
    """
    kind, _, pawl = name.partition(" ")
    if pawl and kind == "swing":
        return say("swing {pawl}", pawl=pawl_place(pawl))
    if pawl and kind == "tooth":
        return say("tooth {pawl}", pawl=pawl_place(pawl))
    known = {
        "decision_delay": say("decision delay"),
        "relay_release": say("relay release"),
        "release": say_as("stage", "release"),
        "plunger": say_as("stage", "plunger"),
        "rest": say_as("stage", "rest"),
    }
    return known.get(name, name.replace("_", " "))


def piece_words(name: str) -> str:
    """A piece of metal, by the name that a machine file or a person gave it."""
    from tripmargin.sensing.piece_said import said_piece

    return said_piece(name)


def piece_title(name: str) -> str:
    """A piece at the beginning of a line: its name with a capital letter.

    >>> piece_title("bearing ball"), piece_title("20 mm ball")
    ('Bearing ball', '20 mm ball')
    """
    words = piece_words(name)
    return f"{words[:1].upper()}{words[1:]}"


def complaint_words(name: str) -> str:
    """A complaint in a few words, by those that it is kept by.

    >>> complaint_words("stops on nothing")
    'stops on nothing'
    """
    known = {
        "dead": say_as("complaint", "dead"),
        "feed stays stopped": say_as("complaint", "feed stays stopped"),
        "stops on nothing": say_as("complaint", "stops on nothing"),
        "will not reverse": say_as("complaint", "will not reverse"),
        "metal went through": say_as("complaint", "metal went through"),
        "check does not stop it": say_as("complaint", "check does not stop it"),
        "lamp or buzzer wrong": say_as("complaint", "lamp or buzzer wrong"),
        "nothing noticed": say_as("complaint", "nothing noticed"),
    }
    return known.get(name) or as_written(name)


def source_words(source: str) -> str:
    """Where a rate comes from: a machine file's words, or that it is invented.

    >>> source_words("invented")
    'invented'
    """
    from tripmargin.circuit.fault_modes import INVENTED

    return say(INVENTED) if source == INVENTED else as_written(source)


def instant_words(name: str) -> str:
    """An instant of a timed stop, by its name.

    >>> instant_words("last pulse")
    'last pulse'
    """
    known = {
        "catch": say_as("instant", "catch"),
        "click": say_as("instant", "click"),
        "last pulse": say_as("instant", "last pulse"),
        "rest": say_as("instant", "rest"),
        "trip": say_as("instant", "trip"),
    }
    return known.get(name, name)


def look_words(name: str) -> str:
    """A look with the state that it is made in, by its id.

    >>> look_words("key on, hand set off: pawls")
    'key on, hand set off: pawls'
    """
    from tripmargin.faultfinding.suspects.looks import MOVING

    state, _, look = name.partition(": ")
    if not look:
        return as_written(name)
    what = look.removesuffix(" seen")  # how a look is called whose name is taken
    moving = say(MOVING[what]) if what in MOVING else as_written(what)
    if what == look:
        return f"{as_written(state)}: {moving}"
    return say("{state}: {what} seen", state=as_written(state), what=moving)


CELLS = {
    word: word
    for word in (
        later("yes"), later("no"), later("never"), later("runs on"), later("none"),
        later("today"), later("recommended"), later("decision_delay"), later("relay_release"),
        later("release"), later("plunger"), later("rest"), later("margin"),
        later("sensor_to_shear_bar"), later("probability_through"), later("stopped in time"),
        later("stopped late"), later("goes through"),
    )
}  # fmt: skip
"""Words that stand in tables and are read by programs too: they are said where a person reads."""


def cell_words(word: str) -> str:
    """A cell of a table that holds a word of `CELLS`, or the name of a stage; others as they are.

    >>> cell_words("runs on"), cell_words("swing lower"), cell_words("12.3")
    ('runs on', 'swing lower', '12.3')
    """
    if word in CELLS:
        return said(word)
    if word.startswith(("swing ", "tooth ")):
        return stage_words(word)
    return as_written(word)  # a machine file's own: parts, steps, checks
