"""A played stop in words: its instants, what happens from each on, and how it ends."""

from __future__ import annotations

from math import inf, isfinite
from typing import Any

from tripmargin.ground.languages import later, say
from tripmargin.pictures.feed_path_clock import pawl_runs
from tripmargin.pictures.trade_words import pawl_words
from tripmargin.pictures.words import in_ms, length, speed
from tripmargin.reports.how.played import Run

_SERIAL = (
    (
        "decision_delay",
        later("The trip latches"),
        later("The relay's current is off; its contact lets go."),
    ),
    ("relay_release", later("The relay opens"), later("The hold winding's current dies.")),
    ("release", later("The spring wins"), later("The plunger falls out.")),
    ("plunger", later("The plunger is out"), later("The pawls swing in.")),
)


def mm(value: float, us: bool = False) -> str:
    """A length as the page shows it.

    >>> mm(0.0163), mm(0.0254, us=True)
    ('16.3 mm', '1 in')
    """
    return length(value, us)


def instants_of(run: Run) -> list[dict[str, Any]]:
    """Every instant that comes, in the order of time; `stage` names what its time comes from."""
    if not run.caught:
        made = _passing(run)
    else:
        made = [*_begin(run), *_serial(run), *_pawls(run), *_end(run)]
    return sorted((each for each in made if each["t"] < inf), key=lambda each: each["t"])


def _instant(name: str, t: float, title: str, then: str, stage: str = "") -> dict[str, Any]:
    return {"name": name, "t": float(t), "title": title, "then": then, "stage": stage}


def _comes(run: Run) -> dict[str, Any]:
    v = speed(run.metal_speed, run.us)
    then = say("It drifts in with the crop at {speed}.", speed=v)
    return _instant("start", -run.lead, say("The piece comes"), then, "speed")


def _passing(run: Run) -> list[dict[str, Any]]:
    under = say("Its signal stays under the threshold.")
    at = run.bar / run.metal_speed
    reaches = say("The metal reaches the knives")
    return [
        _comes(run),
        _instant("axis", 0.0, say("Above the sensor"), under, "signal"),
        _instant("through", at, reaches, say("Nothing stopped it."), "through"),
    ]


def _begin(run: Run) -> list[dict[str, Any]]:
    if run.lost:
        v = speed(run.metal_speed, run.us)
        then = say("Crop drifts in at {speed}; some of it is marked with a cross.", speed=v)
        cut = say("No voltage at the hold winding: its current begins to die at once.")
        return [
            _instant("start", -run.lead, say("The feed runs"), then, "speed"),
            _instant("cut", 0.0, say("The supply is cut"), cut),
        ]
    if run.seen is None:
        title = say("Metal is above the sensor's axis")
        then = say("Taken as seen there. The detector decides.")
        return [_comes(run), _instant("crossing", 0.0, title, then)]
    title, then = say("The signal crosses the threshold"), say("The detector decides.")
    return [_comes(run), _instant("crossing", 0.0, title, then, "signal")]


def _serial(run: Run) -> list[dict[str, Any]]:
    return [
        _instant(name, run.ends[name], say(title), say(then), name)
        for name, title, then in _SERIAL
        if name in run.ends
    ]


def _pawls(run: Run) -> list[dict[str, Any]]:
    pawls, made = pawl_runs(run.lanes), []
    last = max((pawl.caught for pawl in pawls), default=0.0)
    for pawl in pawls:
        name = pawl_words(pawl.name)
        swing, tooth = f"swing {pawl.name}", f"tooth {pawl.name}"
        waits = say("The {pawl} waits for a tooth.", pawl=name)
        if pawl.caught == last:
            then = say("The rolls come to rest.")
        else:
            then = say("Another pawl is still to catch.")
        made += [
            _instant(swing, pawl.swing.ends, say("The {pawl} is in", pawl=name), waits, swing),
            _instant(tooth, pawl.caught, say("The {pawl} catches", pawl=name), then, tooth),
        ]
    return made


def _end(run: Run) -> list[dict[str, Any]]:
    then = say("The crop stands here.") if run.lost else say("The metal stops HERE.")
    made = []
    if not run.lost and run.through is not None:
        told = say("Too late: what follows is only how the rolls come to rest.")
        reaches = say("The metal reaches the knives")
        made = [_instant("through", run.through, reaches, told, "through")]
        then = say("Too late for this metal.")
    return [*made, _instant("rest", run.ends["rest"], say("The rolls stand"), then, "rest")]


def result_of(run: Run) -> str:
    """How a stop ended, in a sentence or two."""
    if not run.caught:
        return say(
            "Not caught: its signal stays under the threshold, nothing stops it, and it goes to the"
            " knives."
        )
    stands = run.ends["rest"]
    if run.margin is None or run.stop is None or not isfinite(stands):
        return say("A spring does not win: the stop never comes about, and the feed runs on.")
    after = in_ms(stands)
    if run.lost:
        return say(
            "The crop stands {after} after the supply was cut, {way} further on. No metal was there"
            " and no trip was latched: the feed stopped for want of power.",
            after=after, way=mm(run.stop - run.start, run.us),
        )  # fmt: skip
    if run.margin < 0:
        return _too_late(run, after, mm(-run.margin, run.us))
    left = mm(run.margin, run.us)
    if run.seen is None:
        return say(
            "The metal stands {left} before the shear bar, {after} after it was above the sensor's"
            " axis.", left=left, after=after,
        )  # fmt: skip
    return say(
        "The metal stands {left} before the shear bar, {after} after its signal crossed the"
        " threshold.", left=left, after=after,
    )  # fmt: skip


def _too_late(run: Run, after: str, past: str) -> str:
    if run.seen is None:
        return say(
            "Too late: the metal would stand {past} past the shear bar, {after} after it was above"
            " the sensor's axis. It reaches the knives before that.", past=past, after=after,
        )  # fmt: skip
    return say(
        "Too late: the metal would stand {past} past the shear bar, {after} after its signal"
        " crossed the threshold. It reaches the knives before that.", past=past, after=after,
    )  # fmt: skip
