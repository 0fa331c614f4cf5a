"""What else the page can show: one thing of the machine set otherwise, worked out beforehand."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import later, say, say_as
from tripmargin.ground.languages.lists import listed
from tripmargin.ground.units import shown
from tripmargin.machine import Machine
from tripmargin.pictures.trade_words import piece_title
from tripmargin.pictures.words import plain_number, speed
from tripmargin.reports.how.inputs import sources_of
from tripmargin.reports.how.instants import timeline_of
from tripmargin.reports.how.placing import comes_words, odds_words
from tripmargin.reports.how.played import Run
from tripmargin.reports.how.runs import DRAWS, Place, drawn_runs, middle_run
from tripmargin.reports.how.telling import mm

_SUPPRESSIONS: tuple[tuple[str, dict[str, Any]], ...] = (
    ("resistor", {"kind": "resistor", "resistance": 82.0}),
    ("zener", {"kind": "zener", "voltage": 24.0}),
    ("diode", {"kind": "diode", "voltage": 0.8}),
)
AS_IT_IS = later("as it is")
_FITTED = {
    "none": later("nothing"),
    "diode": later("diode {value}"),
    "resistor": later("resistor {value}"),
    "zener": later("zener {value}"),
}


@dataclass(frozen=True, slots=True)
class Choice:
    """One plate: its words, the cut and the settings behind it."""

    words: str
    cut_length: float
    settings: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Variants:
    """Everything that can be shown of one machine, by an id: `base` is the machine as it is."""

    machine: Machine
    cut_length: float
    place: Place | None
    us: bool = False
    before: Machine | None = None
    """The machine before its settings were changed, where it is to be shown beside."""

    def made(self) -> tuple[dict[str, Any], list[dict[str, Any]]]:
        """Timelines by id, with and without power; and the groups of plates that pick them."""
        base = middle_run(self.machine, self.cut_length, self.place)
        shown = {"base": self._shown(base)}
        groups = self._before(shown)
        for name, title, note, choices in self._groups():
            plates = []
            for k, choice in enumerate(choices):
                if choice is None:
                    continue
                if not choice.settings and choice.cut_length == self.cut_length:
                    plates.append({"id": "base", "words": choice.words})
                    continue
                machine = self.machine.with_settings(choice.settings)
                try:
                    run = middle_run(machine, choice.cut_length, self.place)
                except TripmarginError:
                    continue  # what cannot be worked out has no plate
                shown[f"{name}{k}"] = self._shown(run)
                plates.append({"id": f"{name}{k}", "words": choice.words})
            if len(plates) > 1:
                groups.append({"name": name, "title": title, "note": note, "plates": plates})
        groups.append(self._chance(shown))
        known = shown["base"]["sources"]
        for name, one in shown.items():
            if name != "base":  # only what is another than the machine's own
                one["sources"] = {k: v for k, v in one["sources"].items() if v != known[k]}
        return shown, groups

    def _before(self, shown: dict[str, Any]) -> list[dict[str, Any]]:
        """The machine as its file has it, where settings are changed: before and after."""
        if self.before is None:
            return []
        try:
            run = middle_run(self.before, self.cut_length, self.place)
        except TripmarginError:
            return []  # its file alone lacks what the stop needs
        shown["before"] = self._shown(run)
        plates = [
            {"id": "base", "words": say("as it is set here")},
            {"id": "before", "words": say("as the machine's file has it")},
        ]
        note = say("Changed: {fields}.", fields=", ".join(self.machine.changed))
        title = say("Before and after")
        return [{"name": "before", "title": title, "note": note, "plates": plates}]

    def _shown(self, run: Run, odds: str | None = None) -> dict[str, Any]:
        """A stop as the page has it; `odds` where they are worked out already."""
        if odds is None:
            odds = odds_words(run.values.machine, run.cut_length, self.place, self.us)
        run = replace(run, us=self.us)
        metal, lost = timeline_of(run), timeline_of(run.without_trip())
        pace = {"cut": mm(run.cut_length, self.us), "speed": speed(run.metal_speed, self.us)}
        if run.seen is None:
            metal["lead"] = say(
                "Metal seen above the sensor's axis at a {cut} cut, {speed}.", **pace
            )
        else:
            piece = piece_title(run.seen.piece.name)
            lead = say("{piece} at a {cut} cut, {speed}.", piece=piece, **pace)
            metal["lead"] = f"{lead} {comes_words(self.place, self.us)}" if self.place else lead
        lost["lead"] = say("No metal, at a {cut} cut, {speed}.", **pace)
        sources = sources_of(run.values.machine)
        return {"metal": metal, "lost": lost, "odds": odds, "sources": sources}

    def _chance(self, shown: dict[str, Any]) -> dict[str, Any]:
        runs = drawn_runs(self.machine, self.cut_length, self.place)
        ranked = sorted(runs, key=_left)
        odds = shown["base"]["odds"]  # a drawn stop is one of the same machine's
        for name, run in (("worst", ranked[0]), ("best", ranked[-1])):
            shown[name] = self._shown(run, odds)
        plates = [
            {"id": "base", "words": say("the middle of everything")},
            {"id": "best", "words": say("best of {count}", count=DRAWS)},
            {"id": "worst", "words": say("worst of {count}", count=DRAWS)},
        ]
        note = say(
            "{count} stops with the wait for a tooth, every stage's time and the speeds drawn at"
            " random within the file's limits, the same every time. The sensor and the way to the"
            " shear bar stay at their middles.",
            count=DRAWS,
        )
        return {"name": "chance", "title": say("Chance"), "note": note, "plates": plates}

    def _groups(self) -> Iterator[tuple[str, str, str, list[Choice | None]]]:
        yield "cut", say("Cut length"), say("A longer cut feeds faster."), self._cuts()
        if self.place is not None and self.machine.sensor is not None:
            note = say("The metal is seen from further away with a stronger magnet.")
            yield "magnet", say("Magnet"), note, self._scaled("magnet.remanence", (0.7, 1.3), "T")
            note, of = say("More turns give more voltage."), (0.5, 1.5)
            yield "turns", say("Turns of the windings"), note, self._scaled("coil.turns", of, "")
        note = say("A wider gap takes the pawl longer to cross.")
        yield "gap", say("Clearance of the pawls"), note, self._clearances()
        note = say("What the current flows through after the relay has opened.")
        yield "suppression", say("Suppression of the hold winding"), note, self._suppressions()

    def _cuts(self) -> list[Choice | None]:
        feed = self.machine.feed
        offered = [] if feed is None else list(feed.cut_lengths or ())
        picked = {self.cut_length, *(offered[:1] + offered[-1:])}
        for cut in sorted(offered, key=lambda one: abs(offered.index(one) - len(offered) / 2)):
            if len(picked) < 3:
                picked.add(cut)
        return [Choice(mm(cut, self.us), cut, {}) for cut in sorted(picked)]

    def _scaled(self, field: str, factors: tuple[float, float], unit: str) -> list[Choice | None]:
        """A field of every assembly, smaller, as it is, larger."""
        sensor = self.machine.sensor
        paths = (
            [f"sensor.assemblies.{k}.{field}" for k in range(len(sensor.assemblies))]
            if sensor
            else []
        )
        part, _, name = field.partition(".")
        found = {
            path: getattr(getattr(one, part), name).nominal
            for path, one in zip(paths, sensor.assemblies if sensor else (), strict=True)
            if getattr(one, part) is not None
        }

        def choice(factor: float) -> Choice:
            made = {path: _rounded(value * factor, not unit) for path, value in found.items()}
            share = say("{share:.0f} %", share=100 * factor)
            return Choice(_colon(share, _each(made.values(), unit)), self.cut_length, made)

        as_is = Choice(_colon(say(AS_IT_IS), _each(found.values(), unit)), self.cut_length, {})
        return [choice(factors[0]), as_is, choice(factors[1])] if found else []

    def _clearances(self) -> list[Choice | None]:
        gaps = {
            pawl.name: pawl.clearance.nominal
            for pawl in (self.machine.chain.pawls if self.machine.chain is not None else ())
            if pawl.clearance is not None
        }

        def choice(word: str, factor: float) -> Choice:
            made = {f"chain.pawls.{name}.clearance": gap * factor for name, gap in gaps.items()}
            each = listed([mm(gap, self.us) for gap in made.values()])
            return Choice(_colon(word, each), self.cut_length, made if factor != 1 else {})

        words = ((say_as("gap", "half"), 0.5), (say(AS_IT_IS), 1.0), (say_as("gap", "twice"), 2.0))
        return [choice(*each) for each in words] if gaps else []

    def _suppressions(self) -> list[Choice | None]:
        chain = self.machine.chain
        if chain is None or chain.hold_winding.release_time is not None:
            return []  # a measured time does not say what another suppression would make of it
        fitted = chain.hold_winding.suppression
        path = "chain.hold_winding.suppression"
        made: list[Choice | None] = [
            Choice(
                _colon(say(AS_IT_IS), _suppression_words(_number_of(fitted))), self.cut_length, {}
            )
        ]
        for kind, other in _SUPPRESSIONS:
            if kind != fitted.kind and len(made) < 3:
                made.append(Choice(_suppression_words(other), self.cut_length, {path: other}))
        return made


def _left(run: Run) -> float:
    """Margin of a drawn stop, m: the metal's or, uncaught, none at all."""
    return run.margin if run.caught and run.margin is not None else float("-inf")


def _rounded(value: float, whole: bool) -> float:
    return float(round(value)) if whole else value


def _number_of(fitted: Any) -> dict[str, Any]:
    made = {"kind": fitted.kind}
    for name in ("resistance", "voltage"):
        if getattr(fitted, name) is not None:
            made[name] = getattr(fitted, name).nominal
    return made


def _suppression_words(of: dict[str, Any]) -> str:
    """A suppression and its number.

    >>> _suppression_words({"kind": "zener", "voltage": 24.0})
    'zener 24 V'
    """
    value = ""
    if "resistance" in of:
        value = shown(of["resistance"], "resistance", digits=3)
    elif "voltage" in of:
        value = shown(of["voltage"], "voltage", digits=3)
    return say(_FITTED[of["kind"]], value=value).strip()


def _each(values: Iterable[float], unit: str) -> str:
    """Values that differ, each once."""
    return ", ".join(dict.fromkeys(f"{plain_number(v, 4)} {unit}".strip() for v in values))


def _colon(name: str, value: str) -> str:
    return say("{name}: {value}", name=name, value=value)
