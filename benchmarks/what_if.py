"""A what-if: the margin with one setting changed, against proving the whole machine again.

A person who turns a setting wants the new margin at once and not the whole map. The peer is our own
full proof, warm, in the same process; the what-if steps are run on a machine already loaded.
"""

from __future__ import annotations

from common.turns import in_turn, median, say, spoken, where

import tripmargin as tm

MACHINE, CUT = "whimbrel", 0.012
GAPS = (0.0025, 0.003, 0.0035, 0.004, 0.0045, 0.005, 0.0055, 0.006)


def main() -> None:
    machine = tm.load_machine(MACHINE)
    print(f"What-if on {MACHINE} at {CUT * 1e3:g} mm; {where()}")
    again = machine.with_settings({"clearance": GAPS[-1]})

    def prove() -> None:
        assert tm.prove(again).verdict != "not known"

    def margins() -> list[float]:
        return [
            float(tm.protection.race(machine, cut_length=CUT, clearance=g).margin) for g in GAPS
        ]

    def nominal() -> list[float]:
        return [tm.stopping.stop_chain(machine, cut_length=CUT, clearance=g).travel for g in GAPS]

    found = margins()
    if sorted(found, reverse=True) != found:
        raise SystemExit("A wider clearance must take margin: no ratio.")
    nominal()
    for what, job in (
        ("its margin with limits and chance (`race`)", margins),
        ("its travel with limits only (`stop_chain`)", nominal),
    ):
        theirs, own = in_turn(prove, job, rounds=3, patience=30)
        step = median(own) / len(GAPS)
        say(
            f"A full proof over one what-if step, {what}",
            median(theirs) / step,
            "none",
            f"{spoken(median(theirs))} against {spoken(step)}; medians of {len(own)},"
            f" {len(GAPS)} clearances a run",
        )


if __name__ == "__main__":
    main()
