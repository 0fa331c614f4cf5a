"""A played stop in words: its instants, what happens from each on, and how it ends."""

from __future__ import annotations

from math import inf, isfinite
from typing import Any

from tripmargin.pictures.feed_path_clock import pawl_runs
from tripmargin.pictures.words import in_ms, length, speed
from tripmargin.reports.how.played import Run

_SERIAL = (
    ("decision_delay", "The trip latches", "The relay's current is off; its contact lets go."),
    ("relay_release", "The relay opens", "The hold winding's current dies."),
    ("release", "The spring wins", "The plunger falls out."),
    ("plunger", "The plunger is out", "The pawls swing in."),
)


def mm(value: float) -> str:
    """A length as the page shows it.

    >>> mm(0.0163)
    '16.3 mm'
    """
    return length(value, False)


def instants_of(run: Run) -> list[dict[str, Any]]:
    """Every instant that comes, in the order of time; `stage` names what its time comes from."""
    if not run.caught:
        made = _passing(run)
    else:
        made = [*_begin(run), *_serial(run), *_pawls(run), *_end(run)]
    return sorted((each for each in made if each["t"] < inf), key=lambda each: each["t"])


def _instant(name: str, t: float, title: str, then: str, stage: str = "") -> dict[str, Any]:
    return {"name": name, "t": float(t), "title": title, "then": then, "stage": stage}


def _passing(run: Run) -> list[dict[str, Any]]:
    v = speed(run.metal_speed, False)
    return [
        _instant(
            "start", -run.lead, "The piece comes", f"It drifts in with the crop at {v}.", "speed"
        ),
        _instant(
            "axis", 0.0, "Above the sensor", "Its signal stays under the threshold.", "signal"
        ),
        _instant(
            "through",
            run.bar / run.metal_speed,
            "The metal reaches the knives",
            "Nothing stopped it.",
            "through",
        ),
    ]


def _begin(run: Run) -> list[dict[str, Any]]:
    v = speed(run.metal_speed, False)
    if run.lost:
        then = f"Crop drifts in at {v}; some of it is marked with a cross."
        cut = "No voltage at the hold winding: its current begins to die at once."
        return [
            _instant("start", -run.lead, "The feed runs", then, "speed"),
            _instant("cut", 0.0, "The supply is cut", cut),
        ]
    then = f"It drifts in with the crop at {v}."
    start = _instant("start", -run.lead, "The piece comes", then, "speed")
    if run.seen is None:
        title = "Metal is above the sensor's axis"
        then = "Taken as seen there. The detector decides."
        return [start, _instant("crossing", 0.0, title, then)]
    title, then = "The signal crosses the threshold", "The detector decides."
    return [start, _instant("crossing", 0.0, title, then, "signal")]


def _serial(run: Run) -> list[dict[str, Any]]:
    return [
        _instant(name, run.ends[name], title, then, name)
        for name, title, then in _SERIAL
        if name in run.ends
    ]


def _pawls(run: Run) -> list[dict[str, Any]]:
    pawls, made = pawl_runs(run.lanes), []
    last = max((pawl.caught for pawl in pawls), default=0.0)
    for pawl in pawls:
        name = f"The {pawl.name} pawl"
        swing, tooth = f"swing {pawl.name}", f"tooth {pawl.name}"
        then = (
            "The rolls come to rest." if pawl.caught == last else "Another pawl is still to catch."
        )
        made += [
            _instant(swing, pawl.swing.ends, f"{name} is in", f"{name} waits for a tooth.", swing),
            _instant(tooth, pawl.caught, f"{name} catches", then, tooth),
        ]
    return made


def _end(run: Run) -> list[dict[str, Any]]:
    then = "The crop stands here." if run.lost else "The metal stops HERE."
    made = []
    if not run.lost and run.through is not None:
        told = "Too late: what follows is only how the rolls come to rest."
        made = [_instant("through", run.through, "The metal reaches the knives", told, "through")]
        then = "Too late for this metal."
    return [*made, _instant("rest", run.ends["rest"], "The rolls stand", then, "rest")]


def result_of(run: Run) -> str:
    """How a stop ended, in a sentence or two."""
    if not run.caught:
        return (
            "Not caught: its signal stays under the threshold, nothing stops it, and it goes to the"
            " knives."
        )
    stands = run.ends["rest"]
    if run.margin is None or run.stop is None or not isfinite(stands):
        return "A spring does not win: the stop never comes about, and the feed runs on."
    if run.lost:
        return (
            f"The crop stands {in_ms(stands)} after the supply was cut, {mm(run.stop - run.start)}"
            " further on. No metal was there and no trip was latched: the feed stopped for want of"
            " power."
        )
    seen = (
        "it was above the sensor's axis" if run.seen is None else "its signal crossed the threshold"
    )
    since = f"{in_ms(stands)} after {seen}"
    if run.margin < 0:
        return (
            f"Too late: the metal would stand {mm(-run.margin)} past the shear bar, {since}."
            " It reaches the knives before that."
        )
    return f"The metal stands {mm(run.margin)} before the shear bar, {since}."
