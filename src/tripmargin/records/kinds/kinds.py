"""The kinds of entries that a log takes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tripmargin.ground.cautions import PASSING, STOPPING
from tripmargin.ground.errors import nearest
from tripmargin.records.kinds.fields import EntryError, Field, Wrong

DAY = 86400.0  # s


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of entry.

    Attributes
    ----------
    name : str
        As stored and as the command line takes it.
    title, meaning : str
        For people.
    fields : tuple of Field
    near : bool
        Whether it comes of work at rolls, knives, springs or wiring: cautions come first.
    caution : str
        What else is to be heeded first, where the machine runs meanwhile.
    """

    name: str
    title: str
    meaning: str
    fields: tuple[Field, ...] = ()
    near: bool = False
    caution: str = ""

    def field_of(self, key: str) -> Field | None:
        """The field that a key belongs to, its family's for "gap_after_m/lower"."""
        family = f"{key.partition('/')[0]}/" if "/" in key else key
        return next((one for one in self.fields if one.key == family), None)

    def keys(self, pawls: tuple[str, ...], steps: tuple[str, ...]) -> Iterator[tuple[str, Field]]:
        """Every key with its field, for a machine with these pawls and steps."""
        for one in self.fields:
            if not one.family:
                yield one.key, one
            else:
                for name in {"pawls": pawls, "steps": steps}.get(one.names, ()):
                    yield f"{one.key}{name}", one


_HOURS = Field(
    "hours_s", "Hour meter", "quantity", dimension="running hours", low=0.0, high=3600.0 * 100_000,
    help="What the machine's hour meter shows, such as 1240 h.",
)  # fmt: skip
_CUT = Field(
    "cut_length_m", "Cut length in use", "quantity", dimension="length", low=0.001, high=0.1
)
_FOUND = {
    "test piece": "a test piece of our own",
    "bolt or nut": "a bolt or a nut",
    "wire": "wire",
    "tine": "a tine or a spring",
    "tool": "a tool",
    "knife or part": "a part of a machine",
    "stone": "a stone: it should not have tripped",
    "other": "something else",
}

KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind(
            "daily check",
            "Daily check",
            "The check that a person makes before work: does it trip, does it reset, are the lamps"
            " as they should be.",
            (
                Field("tripped", "Did it trip?", "yes or no", required=True),
                Field("reset", "Did it reset?", "yes or no",
                      help="Leave it out where the check ended before."),
                Field("lamps", "Lamps and buzzer as expected?", "yes or no"),
                Field("lamps/", "As expected at this step?", "yes or no", names="steps"),
                _HOURS,
            ),
            caution="Do it as the operator's manual says. Guards shut and everybody clear before"
            " anything runs. Never reach in to look: engine off, key out, all at rest first.",
        ),
        Kind(
            "trip",
            "Trip",
            "The feed stopped on metal.",
            (
                Field("found", "What was found?", "choice", required=True, choices=_FOUND),
                Field("size_m", "Its size across", "quantity", dimension="length",
                      low=0.0005, high=1.0, help="The second longest way through it."),
                Field("length_m", "Its length", "quantity", dimension="length",
                      low=0.0005, high=3.0),
                Field("left_m", "From the metal to the shear bar", "quantity", dimension="length",
                      low=-0.5, high=3.0,
                      help="Along the crop's path, when the feed stood. Below zero: past the bar."),
                Field("through", "Did it reach the knives?", "yes or no"),
                _CUT,
                _HOURS,
            ),
            near=True,
        ),
        Kind(
            "false trip",
            "False trip",
            "The feed stopped, and no metal was found.",
            (
                Field("searched", "How was it searched?", "choice",
                      choices={"thoroughly": "the whole mat, by hand and magnet",
                               "quickly": "a quick look", "no": "not searched"}),
                _CUT,
                _HOURS,
            ),
            near=True,
        ),
        Kind(
            "missed metal",
            "Missed metal",
            "Metal went through, or a test piece was not seen: the protection did not stop it.",
            (
                Field("found", "What was it?", "choice", required=True, choices=_FOUND),
                Field("size_m", "Its size across", "quantity", dimension="length",
                      low=0.0005, high=1.0),
                Field("length_m", "Its length", "quantity", dimension="length",
                      low=0.0005, high=3.0),
                Field("why", "What happened?", "choice", required=True,
                      choices={"not seen": "it never tripped", "too late": "it tripped too late",
                               "not known": "nobody knows"}),
                _CUT,
                _HOURS,
            ),
            near=True,
        ),
        Kind(
            "adjustment",
            "Adjustment",
            "Pawl gaps, as found and as left.",
            (
                Field("gap_before_m/", "Gap as found", "quantity", dimension="length",
                      low=0.0, high=0.03, names="pawls"),
                Field("gap_after_m/", "Gap as left", "quantity", dimension="length",
                      low=0.0, high=0.03, names="pawls"),
                Field("turns/", "Turns of the clevis", "quantity", dimension="number",
                      low=0.0, high=100.0, names="pawls",
                      help="All together, such as 1.5; 0: nobody touched it. The gaps tell which"
                           " way. The next setting learns from it."),
                Field("feeler_m", "Step of the feeler gauge", "quantity", dimension="length",
                      low=0.00001, high=0.001, help="Half of it is taken as how far off a gap is."),
                _HOURS,
            ),
            near=True,
        ),
        Kind(
            "stop time",
            "Stop time",
            "Measured from the trip to the feed's standing still.",
            (
                Field("stop_time_s", "Stop time", "quantity", required=True, dimension="time",
                      low=0.001, high=2.0),
                Field("sd_s", "Its standard deviation", "quantity", dimension="time",
                      low=0.0, high=0.5),
                Field("how", "How it was measured", "choice",
                      choices={"logger": "a logger on trip line and roll", "sound": "sound",
                               "video": "frames of a video", "other": "another way"}),
                _CUT,
                _HOURS,
            ),
            caution=STOPPING,
        ),
        Kind(
            "test pass",
            "Test pass",
            "A test piece sent over the sensor, and whether the feed stopped on it.",
            (
                Field("piece", "Test piece", "text", required=True, piece=True,
                      help='Such as "16 mm ball"; anything but a ball with how it lay, such as'
                           ' "M8x30 bolt along".'),
                Field("across_m", "Across, from the roll's middle", "quantity", required=True,
                      dimension="length", low=-2.0, high=2.0,
                      help="Seen the way that the crop goes; below zero: left of the middle."),
                Field("height_m", "Height above the lower front roll", "quantity", required=True,
                      dimension="length", low=0.0, high=1.0,
                      help="Of the piece's middle over the top of the roll."),
                Field("speed_m_s", "Speed", "quantity", required=True, dimension="speed",
                      low=0.01, high=20.0, help="Of the piece over the sensor."),
                Field("caught", "Was it caught?", "yes or no", required=True,
                      help="Caught: the feed stopped."),
                Field("place_doubt_m", "How well is its place known?", "quantity",
                      dimension="length", low=0.0, high=0.1,
                      help="Standard deviation, across and in height; 3 mm is taken without it."),
                _HOURS,
            ),
            caution=PASSING,
        ),
        Kind(
            "part replaced",
            "Part replaced",
            "A part or a module taken out and another put in.",
            (
                Field("part", "Which part?", "text", required=True),
                Field("number", "Its number", "text"),
                Field("cured", "Did it cure the fault?", "yes or no"),
                _HOURS,
            ),
            near=True,
        ),
        Kind(
            "hours",
            "Hours",
            "What the hour meter shows.",
            (Field("hours_s", "Hour meter", "quantity", required=True, dimension="running hours",
                   low=0.0, high=3600.0 * 100_000),),
        ),
        Kind("note", "Note", "Anything worth keeping.",
             (Field("text", "Note", "text", required=True),)),
        Kind(
            "plan",
            "Plan",
            "How often this machine is to be looked at.",
            (
                Field("check_every_s", "Daily check every", "quantity", dimension="days",
                      low=3600.0, high=366 * DAY, help="On days that the machine works."),
                Field("gaps_every_s", "Pawl gaps every", "quantity", dimension="days",
                      low=DAY, high=3660 * DAY),
                Field("stop_time_every_s", "Stop time every", "quantity", dimension="days",
                      low=DAY, high=3660 * DAY),
            ),
        ),
    )
}  # fmt: skip
WITHDRAWN = "withdrawn"
"""The kind of a correction that takes an entry back and puts nothing in its place."""


def kind_named(name: str) -> Kind:
    """The kind of this name.

    Raises
    ------
    EntryError
        If there is none.
    """
    if name in KINDS:
        return KINDS[name]
    near = nearest(name, list(KINDS))
    raise EntryError(
        [
            Wrong(
                "kind", name, "no such kind of entry", ", ".join(KINDS),
                f'Did you mean "{near}"?' if near else "",
            )
        ]
    )  # fmt: skip
