"""The proof's work: chances, verdicts and doubts of every piece at every cut, on one bench."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tripmargin.ground.every_language import in_every_language
from tripmargin.ground.languages import language, later, say
from tripmargin.ground.units import percent
from tripmargin.machine import Machine
from tripmargin.protection.bench import REFERENCE_BALL, Bench, Progress
from tripmargin.protection.costs import setting_costs, stage_costs
from tripmargin.protection.doubt import Measure, Situation, measure_next
from tripmargin.protection.judging import Judge, tabulated
from tripmargin.protection.mapping import (
    ProtectionMap,
    default_cuts,
    longest_protected,
    protection_map,
)
from tripmargin.protection.reasons import reasons
from tripmargin.protection.state_reasons import too_thick
from tripmargin.protection.verdicts import CutVerdict, Proof
from tripmargin.sensing.noise import false_trips_per_hour
from tripmargin.sensing.pieces import Piece
from tripmargin.stopping import feed_speed

_MUCH = 1e-3  # a share missed that is worth a word about the threshold
_LOWER = 0.8
_OFTEN = 1e-6  # false trips an hour


class Prover:
    """One run: the bench and the sample are shared by every cut and piece."""

    def __init__(
        self,
        machine: Machine,
        cuts: tuple[float, ...],
        pieces: list[Piece],
        progress: Progress | None,
    ) -> None:
        self.machine, self.cuts, self.pieces = machine, cuts, pieces
        self.progress = progress or (lambda share: None)
        offered = machine.feed.cut_lengths if machine.feed is not None else ()
        around = default_cuts(machine) if offered else np.array(cuts)
        self.map_cuts = np.unique(np.concatenate([around, np.asarray(cuts)]))
        if len(cuts) > 60:
            self.map_cuts = around
        every = np.concatenate([self.map_cuts, np.asarray(cuts)])
        self.bench = Bench(machine, [float(cut) for cut in every], lambda s: self.progress(0.5 * s))
        self.judge = Judge(self.bench)
        self.confidence = machine.limits.confidence.nominal

    def proof(self) -> Proof:
        """Everything that the proof says."""
        verdicts: list[CutVerdict] = []
        total = len(self.pieces) * len(self.cuts)
        for piece in self.pieces:
            for cut in self.cuts:
                verdicts.append(self.judge.verdict(piece, cut))
                self.progress(0.5 + 0.3 * len(verdicts) / total)
        made = protection_map(
            self.machine,
            cut_lengths=self.map_cuts,
            bench=self.bench,
            progress=lambda s: self.progress(0.8 + 0.15 * s),
        )
        if len(self.pieces) == 1 and self.pieces[0].name != made.must_stop:
            made = self._map_about(made, self.pieces[0])
        worst = min(verdicts, key=lambda v: (round(v.protected or 0.0, 6), v.cut_length))
        best_worst = [v.smallest_ball_worst for v in verdicts if v.smallest_ball_worst is not None]
        table = self.bench.table(Piece.ball(REFERENCE_BALL))
        measures = self._measures(worst)
        lower = self._lower_threshold(worst)

        def because(us: bool) -> tuple[str, ...]:
            return (
                too_thick(self.machine, self.pieces, us=us)
                + reasons(self.machine, worst, tuple(verdicts), table.nulls, us=us)
                + _keener_words(lower)
            )

        told = in_every_language(because)
        return Proof(
            machine_name=self.machine.name,
            verdict=worst.verdict,
            cuts=tuple(verdicts),
            protection_map=made,
            longest_protected_cut=self._longest(made),
            longest_protected_cut_worst=self._longest_worst(verdicts),
            smallest_protected_ball=made.smallest_protected_ball,
            smallest_protected_ball_worst=min(best_worst) if best_worst else None,
            because=told[language()][0],
            because_us=told[language()][1],
            told=told,
            measure_next=measures,
            costs=stage_costs(self.machine, worst.cut_length)
            + setting_costs(self.machine, worst.cut_length),
            nulls=table.nulls,
            needs=(),
            assumed=self.machine.assumed,
            changed=self.machine.changed,
        )

    def _lower_threshold(self, worst: CutVerdict) -> tuple[float, float | None] | None:
        """Share that a lower threshold would see, and its false trips an hour by noise alone.

        None where hardly any metal goes unseen; no false trips where their rate is not known.
        """
        if worst.seen is None or 1.0 - worst.seen < _MUCH:
            return None
        piece = next(p for p in self.pieces if p.name == worst.piece)
        lying, scale = tabulated(piece)
        louder = np.array([scale / _LOWER])
        seen = float(
            np.mean(
                [
                    1.0
                    - self.bench.chances(
                        self.bench.sight(one, self.judge.sample),
                        worst.cut_length,
                        louder,
                        fine=False,
                    ).missed[0]
                    for one in lying
                ]
            )
        )
        lower = self.machine.with_settings(
            {
                "detector.threshold": self.machine.need(later("protection"), "detector.threshold")[
                    0
                ].nominal
                * _LOWER
            }
        )
        if self.machine.get("detector.high_cut") is None:
            return seen, None
        speed = feed_speed(self.machine, worst.cut_length)
        return seen, false_trips_per_hour(lower, roll_speed=speed)

    def _map_about(self, made: ProtectionMap, piece: Piece) -> ProtectionMap:
        """The map with another must-stop piece drawn in."""
        diameter = piece.dimensions[0] if piece.kind == "ball" else None
        return replace(made, must_stop=piece.name, must_stop_diameter=diameter)

    def _longest(self, made: ProtectionMap) -> float | None:
        """The longest cut of the map at which every piece is protected."""
        if [p.name for p in self.pieces] == [made.must_stop] and made.must_stop_diameter:
            return made.longest_protected_cut
        along = np.min(
            [
                [
                    float(self.judge.chances(piece, float(cut), fine=False).protected)
                    for cut in self.map_cuts
                ]
                for piece in self.pieces
            ],
            axis=0,
        )
        return longest_protected(self.map_cuts, along, self.confidence)

    def _longest_worst(self, verdicts: list[CutVerdict]) -> float | None:
        """The longest cut asked about whose worst place is protected for every piece."""
        good = [
            cut
            for cut in self.cuts
            if all(
                v.worst_place is not None and v.worst_place[2] >= self.confidence
                for v in verdicts
                if v.cut_length == cut
            )
        ]
        return max(good) if good else None

    def _measures(self, worst: CutVerdict) -> tuple[Measure, ...]:
        """What to measure for the doubt that weighs most at the worst cut."""
        piece = next(p for p in self.pieces if p.name == worst.piece)
        lying, scale = tabulated(piece)
        missed = 1.0 - (worst.seen or 0.0)
        about = "signal" if missed > (worst.too_late or 0.0) else "margin"
        assert worst.worst_place is not None
        x, height, _ = worst.worst_place
        nulls = self.bench.table(Piece.ball(REFERENCE_BALL)).nulls
        if about == "signal" and any(abs(x - null) < 0.02 for null in nulls):
            # Nothing measured makes a null see; ask about the rest of the roll.
            table = self.bench.table(Piece.ball(REFERENCE_BALL))
            x = float(table.places[table.peak[0, 0, -1].argmax()])
        if about == "margin":
            x = self._seen_place()
            height = float(self.bench.heights[len(self.bench.heights) // 2])
        situation = Situation(lying[0], worst.cut_length, x, height, scale)
        return measure_next(self.bench, situation, about=about)

    def _seen_place(self) -> float:
        table = self.bench.table(Piece.ball(REFERENCE_BALL))
        return float(table.places[table.peak[0, 0, len(table.heights) // 2].argmax()])


def _keener_words(lower: tuple[float, float | None] | None) -> tuple[str, ...]:
    """What a lower threshold would see, and cost."""
    if lower is None:
        return ()
    seen, often = percent(lower[0]), lower[1]
    if often is None:
        first = say("With the threshold a fifth lower {seen} would be seen.", seen=seen)
    elif often > _OFTEN:
        first = say(
            "With the threshold a fifth lower {seen} would be seen, with {often:.2g} false trips"
            " an hour by noise alone.",
            seen=seen,
            often=often,
        )
    else:
        first = say(
            "With the threshold a fifth lower {seen} would be seen, still with practically no"
            " false trips by noise.",
            seen=seen,
        )
    second = say(
        "That metal may come anywhere in the crop is chance: no measurement shrinks that part of"
        " the doubt."
    )
    return (f"{first} {second}",)
