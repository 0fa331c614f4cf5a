"""What is taken of a machine's adjusters, in plain words, each with where it comes from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tripmargin.ground.units import percent
from tripmargin.stopping.setting.step_words import between, gap_words

if TYPE_CHECKING:
    from tripmargin.ground.quantities import Quantity
    from tripmargin.protection import PawlSetting
    from tripmargin.stopping.setting import Adjuster, Belief

FILE = "the machine's file"
PRACTICE = "assumed: common practice, no source"
THREAD = "assumed: an M10 coarse thread, ISO 261"
Row = tuple[str, str, str]


def adjuster_rows(found: PawlSetting, us: bool, *, feeler_typed: bool = False) -> list[Row]:
    """What, its value, and where it comes from; for each pawl, then for all.

    Parameters
    ----------
    found : PawlSetting
    us : bool
        Inches.
    feeler_typed : bool
        Whether the feeler's step is the person's own.
    """
    adjusters = found.steps.adjusters
    rows = [row for each in adjusters.pawls for row in _of_pawl(each, found, us)]
    low, high = adjusters.window
    window = _source(adjusters.assumed, "limits.clearance")
    step = "as you said" if feeler_typed else _source(adjusters.assumed, "chain.feeler_step")
    return [
        *rows,
        ("Window of the gaps", between(low, high, us), window),
        ("Step of the feeler", gap_words(adjusters.feeler_step, us), step),
        (
            "A reading is off by up to",
            gap_words(2 * adjusters.reading_sd, us),
            "half the feeler's step (JCGM 100:2008, 4.3.7) and 0.03 mm of feel (common practice, no"
            " source); 19 of 20 readings",
        ),
    ]  # fmt: skip


def _of_pawl(each: Adjuster, found: PawlSetting, us: bool) -> list[Row]:
    place = f"chain.pawls.{each.pawl}.adjuster"
    name = f"{each.pawl.capitalize()} pawl"

    def filed(field: str, otherwise: str = PRACTICE) -> str:
        return _source(each.assumed, f"{place}.{field}", otherwise)

    def believed(belief: Belief, field: str) -> str:
        if belief.source != "learned":
            return filed(field)
        return _learned(found, each.pawl, field)

    rows = [(f"{name} is set by", f"a {each.kind}", filed("kind"))]
    if each.kind == "clevis":
        turn = Around(each.pitch * each.leverage.mean, 2 * each.pitch * each.leverage.sd)
        rows += [
            (f"{name}: thread of the clevis", f"{gap_words(each.pitch, us)} a turn",
             filed("thread_pitch", THREAD)),
            (f"{name}: one turn moves the gap by", turn.words(us),
             believed(each.leverage, "leverage")),
            (f"{name}: smallest turn", f"{360 * each.smallest_turn:.3g} deg",
             filed("smallest_turn")),
            (f"{name}: turning the clevis out", _turned_out(each),
             FILE if each.turned_out else "not in the machine's file"),
        ]  # fmt: skip
    else:
        near = gap_words(3**0.5 * each.placed_sd, us)
        rows.append((f"{name}: a hand places the clamp within", near, filed("placed_within")))
    shift = Around(each.shift.mean, 2 * (each.shift.sd**2 + each.shift_scatter**2) ** 0.5)
    coupling = f"{percent(each.coupling.mean)} +- {percent(2 * each.coupling.sd)}"
    several = len(found.steps.adjusters.pawls) > 1
    return [
        *rows,
        (f"{name}: tightening opens the gap by", shift.words(us),
         believed(each.shift, "tightening_shift")),
        *([(f"{name}: of its move the others make", coupling, believed(each.coupling, "coupling"))]
          if several else []),
        (f"{name}: a season opens the gap by", _drift(each.drift, us),
         _learned(found, each.pawl, "season_drift") or filed("season_drift")),
        (f"{name}: can be set over", gap_words(each.setting_range, us), filed("setting_range")),
    ]  # fmt: skip


class Around:
    """A value and how far off it may be, m."""

    def __init__(self, middle: float, off: float) -> None:
        self.middle, self.off = middle, off

    def words(self, us: bool) -> str:
        """Such as "0.98 mm +- 0.24 mm"."""
        return f"{gap_words(self.middle, us)} +- {gap_words(self.off, us)}"


def _turned_out(each: Adjuster) -> str:
    return f"{each.turned_out} the gap" if each.turned_out else "not known: look which way it goes"


def _drift(drift: Quantity, us: bool) -> str:
    if drift.low == drift.high:
        return gap_words(drift.nominal, us)
    return f"{gap_words(drift.low, us)} to {gap_words(drift.high, us)}"


def _source(assumed: tuple[str, ...], field: str, otherwise: str = PRACTICE) -> str:
    """The file, or what is said of an assumed value."""
    return otherwise if any(one.partition(" ")[0] == field for one in assumed) else FILE


def _learned(found: PawlSetting, pawl: str, what: str) -> str:
    """From how many of the log's settings it was learned; empty where it was not."""
    for one in found.steps.learned:
        if (one.pawl, one.what) == (pawl, what):
            many = f"{one.count} past setting{'s' if one.count > 1 else ''}"
            return f"learned from {many} in the log"
    return ""
