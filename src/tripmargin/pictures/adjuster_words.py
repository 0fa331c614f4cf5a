"""What is taken of a machine's adjusters, in plain words, each with where it comes from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tripmargin.ground.languages import later, say, say_many
from tripmargin.ground.units import percent
from tripmargin.pictures.trade_words import pawl_title
from tripmargin.stopping.setting.step_words import between, gap_words

if TYPE_CHECKING:
    from tripmargin.ground.quantities import Quantity
    from tripmargin.protection import PawlSetting
    from tripmargin.stopping.setting import Adjuster, Belief

FILE = later("the machine's file")
PRACTICE = later("assumed: common practice, no source")
THREAD = later("assumed: an M10 coarse thread, ISO 261")
_KINDS = {"clevis": later("a clevis"), "clamp": later("a clamp")}
_TURNED_OUT = {"opens": later("opens the gap"), "closes": later("closes the gap")}
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
    step = say("as you said") if feeler_typed else _source(adjusters.assumed, "chain.feeler_step")
    return [
        *rows,
        (say("Window of the gaps"), between(low, high, us), window),
        (say("Step of the feeler"), gap_words(adjusters.feeler_step, us), step),
        (
            say("A reading is off by up to"),
            gap_words(2 * adjusters.reading_sd, us),
            say(
                "half the feeler's step (JCGM 100:2008, 4.3.7) and {feel:.2f} mm of feel (common"
                " practice, no source); 19 of 20 readings",
                feel=0.03,
            ),
        ),
    ]  # fmt: skip


def _of_pawl(each: Adjuster, found: PawlSetting, us: bool) -> list[Row]:
    place = f"chain.pawls.{each.pawl}.adjuster"
    name = pawl_title(each.pawl)

    def filed(field: str, otherwise: str = PRACTICE) -> str:
        return _source(each.assumed, f"{place}.{field}", otherwise)

    def believed(belief: Belief, field: str) -> str:
        if belief.source != "learned":
            return filed(field)
        return _learned(found, each.pawl, field)

    rows = [(say("{pawl} is set by", pawl=name), say(_KINDS[each.kind]), filed("kind"))]
    if each.kind == "clevis":
        turn = Around(each.pitch * each.leverage.mean, 2 * each.pitch * each.leverage.sd)
        rows += [
            (
                say("{pawl}: thread of the clevis", pawl=name),
                say("{gap} a turn", gap=gap_words(each.pitch, us)),
                filed("thread_pitch", THREAD),
            ),
            (
                say("{pawl}: one turn moves the gap by", pawl=name),
                turn.words(us),
                believed(each.leverage, "leverage"),
            ),
            (
                say("{pawl}: smallest turn", pawl=name),
                say("{angle:.3g} deg", angle=360 * each.smallest_turn),
                filed("smallest_turn"),
            ),
            (
                say("{pawl}: turning the clevis out", pawl=name),
                _turned_out(each),
                say(FILE) if each.turned_out else say("not in the machine's file"),
            ),
        ]
    else:
        what = say("{pawl}: a hand places the clamp within", pawl=name)
        rows.append((what, gap_words(3**0.5 * each.placed_sd, us), filed("placed_within")))
    shift = Around(each.shift.mean, 2 * (each.shift.sd**2 + each.shift_scatter**2) ** 0.5)
    what = say("{pawl}: tightening opens the gap by", pawl=name)
    rows.append((what, shift.words(us), believed(each.shift, "tightening_shift")))
    if len(found.steps.adjusters.pawls) > 1:
        what = say("{pawl}: of its move the others make", pawl=name)
        coupling = f"{percent(each.coupling.mean)} +- {percent(2 * each.coupling.sd)}"
        rows.append((what, coupling, believed(each.coupling, "coupling")))
    what = say("{pawl}: a season opens the gap by", pawl=name)
    source = _learned(found, each.pawl, "season_drift") or filed("season_drift")
    rows.append((what, _drift(each.drift, us), source))
    what = say("{pawl}: can be set over", pawl=name)
    return [*rows, (what, gap_words(each.setting_range, us), filed("setting_range"))]


class Around:
    """A value and how far off it may be, m."""

    def __init__(self, middle: float, off: float) -> None:
        self.middle, self.off = middle, off

    def words(self, us: bool) -> str:
        """Such as "0.98 mm +- 0.24 mm"."""
        return f"{gap_words(self.middle, us)} +- {gap_words(self.off, us)}"


def _turned_out(each: Adjuster) -> str:
    if not each.turned_out:
        return say("not known: look which way it goes")
    return say(_TURNED_OUT[each.turned_out])


def _drift(drift: Quantity, us: bool) -> str:
    if drift.low == drift.high:
        return gap_words(drift.nominal, us)
    return say("{low} to {high}", low=gap_words(drift.low, us), high=gap_words(drift.high, us))


def _source(assumed: tuple[str, ...], field: str, otherwise: str = PRACTICE) -> str:
    """The file, or what is said of an assumed value."""
    taken = any(one.partition(" ")[0] == field for one in assumed)
    return say(otherwise) if taken else say(FILE)


def _learned(found: PawlSetting, pawl: str, what: str) -> str:
    """From how many of the log's settings it was learned; empty where it was not."""
    for one in found.steps.learned:
        if (one.pawl, one.what) == (pawl, what):
            return say_many(
                "learned from {count} past setting in the log",
                "learned from {count} past settings in the log",
                one.count,
            )
    return ""
