"""What the machine shows in each state under each hypothesis, worked out once.

Before a case is opened the machine was worked with the fault in it, so that fuses have blown and
pawls have stayed where they stay; each state is then reached from key off. A hypothesis outside the
circuit shows there what a sound machine shows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from tripmargin.circuit import (
    HEARD,
    Buzzer,
    Fault,
    FaultTable,
    Metered,
    Network,
    Step,
    fault_tables,
)
from tripmargin.faultfinding.suspects.bands import Bands, ohm_bands, volt_bands
from tripmargin.faultfinding.suspects.hypotheses import Hypothesis
from tripmargin.faultfinding.suspects.kept import Kept, fetched, keep, name_of
from tripmargin.faultfinding.suspects.metering import metered
from tripmargin.faultfinding.suspects.ohm_readings import Ohmmeter
from tripmargin.faultfinding.suspects.states import MachineState
from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import later, say
from tripmargin.machine import Machine
from tripmargin.machine.check_sections import Look
from tripmargin.machine.circuit_sections import MeasuringPoint

Strings = NDArray[np.str_]
TRIED = ("test piece", "stop time")
"""Kinds of look that go a step beyond their state: metal comes, or the button is pressed."""
NOT_TURNING = "the rolls do not turn"


class Shown:
    """What each hypothesis shows; its arrays are in the order of the hypotheses.

    Parameters
    ----------
    machine : Machine
    network : Network
    states : sequence of MachineState
    hypotheses : sequence of Hypothesis
    """

    def __init__(
        self,
        machine: Machine,
        network: Network,
        states: Sequence[MachineState],
        hypotheses: Sequence[Hypothesis],
    ) -> None:
        checks = machine.checks
        assert checks is not None
        self.machine, self.checks, self.states = machine, checks, states
        self.hypotheses = hypotheses
        self.network = network
        self._ohmmeter = Ohmmeter(network, checks.worked)
        groups = {_names(each.faults): each.faults for each in hypotheses if each.faults}
        row = {names: k + 1 for k, names in enumerate(groups)}
        self.rows = np.array([row.get(_names(each.faults), 0) for each in hypotheses], np.intp)
        """(H,) the row of each hypothesis in the tables; 0 is a sound machine."""
        before = list(checks.worked)
        trials = [look for look in checks.looks if look.kind in TRIED]
        ways: list[Sequence[Step | str]] = [[*before, *state.steps] for state in states]
        tried = [[*before, *self._trial_steps(look)] for look in trials]
        sequences: list[Sequence[Step | str]] = [before, *ways, *tried]
        rest = range(1, len(sequences))
        meters = [
            (node, k, Metered(tuple(nodes), k + 1, len(before)))
            for node, nodes, numbers in metered(machine, network, states)
            for k in numbers
        ]
        self._name = name_of(machine, [each.id for each in hypotheses], tuple(groups.values()))
        kept = fetched(self._name, len(sequences) + len(meters))
        found = kept.tables or fault_tables(
            self.network,
            sequences,
            groups.values(),
            last_of=rest,
            metered=[each for _, _, each in meters],
        )
        self._every, self._worked_out = found, not kept.tables
        self._ohms = dict(kept.readings)
        """By look: what an ohmmeter reads, (H,)."""
        self.worked: FaultTable = found[0]
        self.tables = found[1 : 1 + len(ways)]
        self._trials = dict(
            zip([look.name for look in trials], found[1 + len(ways) : len(sequences)], strict=True)
        )
        read = zip(meters, found[len(sequences) :], strict=True)
        self.read = {(node, k): table for (node, k, _), table in read}
        """By the input of the module that is measured, "" where none is, and the number of a state:
        its table with the meters that are on then, put on after the machine was worked. Lamps are
        looked at without any."""

    def of(self, keep: NDArray[np.intp]) -> Shown:
        """The same for some of the hypotheses."""
        from copy import copy

        fewer = copy(self)
        fewer.hypotheses = [self.hypotheses[k] for k in keep]
        fewer.rows = self.rows[keep]
        fewer._ohms = {key: readings[keep] for key, readings in self._ohms.items()}
        return fewer

    def keep(self) -> None:
        """Keep what was worked out, where it is to be kept: call it when all looks are made."""
        if self._worked_out:
            keep(self._name, Kept(self._every, self._ohms))

    @property
    def _single(self) -> NDArray[np.bool_]:
        """Hypotheses of one listed fault or none; (H,).

        A meter's ranges are made for these: a rare pair, or a fault at another strength, must not
        close the gap between two.
        """
        return np.array([each.listed or not each.causes for each in self.hypotheses])

    @cached_property
    def signs(self) -> tuple[tuple[str, str, str], ...]:
        """Each lamp and buzzer: its name, "lamp" or "buzzer", and its place."""
        circuit = self.machine.circuit
        places = {} if circuit is None else {part.name: part.place for part in circuit.parts}
        return tuple(
            (
                name,
                "buzzer" if isinstance(self.network.part(name), Buzzer) else "lamp",
                places.get(name) or "",
            )
            for name in self.network.indicators
        )

    @cached_property
    def buzzers(self) -> frozenset[str]:
        """Names of the buzzers."""
        return frozenset(name for name, kind, _ in self.signs if kind == "buzzer")

    @property
    def points(self) -> tuple[MeasuringPoint, ...]:
        """The test points of the wiring."""
        return () if self.machine.circuit is None else self.machine.circuit.test_points

    def words(self, state: int, column: str) -> Strings:
        """What a lamp, buzzer or movement shows in a state, in people's words; (H,)."""
        table = self.tables[state]
        found: Strings = table.words[self.rows, -1, table.columns.index(column)]
        if column in self.buzzers:
            return np.array([HEARD[str(word)] for word in found])
        return found

    def said(self, column: str, word: str) -> str:
        """A word of the circuit's tables as people say it: a buzzer is not on, it sounds."""
        return HEARD[word] if column in self.buzzers else word

    def readings(self, state: int, red: str, black: str) -> NDArray[np.float64]:
        """What a voltmeter reads in a state, V; (H,)."""
        node = next((each for each in (red, black) if (each, state) in self.read), "")
        read: NDArray[np.float64] = self.read[node, state].across(red, black)[self.rows, -1]
        return read

    def volts(self, state: int, red: str, black: str) -> tuple[Bands, Strings]:
        """What a voltmeter shows in a state, and the ranges it may show; (H,)."""
        readings = self.readings(state, red, black)
        bands = volt_bands(readings[self._single])
        return bands, np.array([bands.word(float(each)) for each in readings])

    def ohms(self, state: int, look: Look) -> tuple[Bands, Strings]:
        """What an ohmmeter shows in a state with the battery disconnected; (H,)."""
        key = look.name
        if key not in self._ohms:
            steps = self.states[state].steps
            self._ohms[key] = self._ohmmeter.readings(steps, look, self.hypotheses)
        readings = self._ohms[key]
        bands = ohm_bands(readings[self._single])
        return bands, np.array([bands.word(float(each)) for each in readings])

    def fuses(self, state: int, fuse: str) -> Strings:
        """How a fuse looks; (H,)."""
        table = self.tables[state]
        gone = table.blown[self.rows, -1, table.fuses.index(fuse)]
        broken = [
            any(f"{fuse}:open" == fault.id for fault in each.faults) for each in self.hypotheses
        ]
        return np.where(gone | np.array(broken), "gone", "whole")

    def trial(self, look: Look) -> Strings:
        """What comes of letting the machine work in a state: with metal, by the button, empty."""
        if look.kind == "empty run":
            return self._empty_run(look)
        table = self._trials[look.name]
        stops = table.words[self.rows, -1, table.columns.index("stop")]
        if look.kind == "stop time":
            words = {"in time": "within the limit", "late": "over the limit"}
        else:
            stopping = ("in time", "late", "drive let go, pawls not in: coasts")
            words = dict.fromkeys(stopping, "the rolls stop")
        words |= {"runs on": "the rolls run on", "stops and restarts": "they stop and start again"}
        found = np.array([words.get(str(stop), NOT_TURNING) for stop in stops])
        if look.kind == "test piece":
            unseen = np.array([not self.sees(each, look) for each in self.hypotheses])
            found = np.where(unseen & (found != NOT_TURNING), "the rolls run on", found)
        return found

    def _empty_run(self, look: Look) -> Strings:
        state = [each.name for each in self.states].index(look.state)
        noisy = [any(f.false_trips for f in each.physical) for each in self.hypotheses]
        turning = self.words(state, "rolls") == "forward"
        return np.where(turning & ~np.array(noisy), "turns on", "stops by itself or stands")

    def sees(self, hypothesis: Hypothesis, look: Look | None = None) -> bool:
        """Whether the test piece's signal passes the threshold under a hypothesis.

        Without a look, the machine file's first test piece is taken.
        """
        from tripmargin.faultfinding.suspects.piece_signal import signal_over_threshold

        pieces = [each for each in self.checks.looks if each.kind == "test piece"]
        look = look or (pieces[0] if pieces else None)
        weak = [each for each in hypothesis.physical if each.signal < 1 or each.settings]
        if look is None:
            return not weak
        return all(signal_over_threshold(self.machine, look, each) >= 1.0 for each in weak)

    def _trial_steps(self, look: Look) -> tuple[Step | str, ...]:
        """The way to a look's state, and one step beyond it."""
        way = next(each.steps for each in self.states if each.name == look.state)
        last = next(step for step in self.network.steps if step.name == way[-1])
        if look.kind == "test piece":
            return (*way, replace(last, name=look.name, metal=True))
        detector = self.network.detector
        if detector is None or detector.check is None:
            raise NotKnownError(
                later("the stop time by the check button"), [say("circuit: a check winding")]
            )
        pressed = {**last.switches, detector.check.button: "on"}
        return (*way, replace(last, name=look.name, switches=pressed))


def _names(faults: Sequence[Fault]) -> tuple[str, ...]:
    return tuple(fault.id for fault in faults)
