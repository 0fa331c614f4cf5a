"""A fault drill as its page shows it: the machine as it stands, and what may be done next.

Nothing here reads the hidden fault: a page is made of the machine's problem, which is the same
whatever is hidden, and of the moves that were made.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tripmargin import drills as d
from tripmargin.drills.scoring import HANDED_OVER
from tripmargin.faultfinding import COMPLAINTS, HAND_OVER, MachineProblem, daily_test
from tripmargin.faultfinding.cases.cards import do_words, seen_from_the_seat
from tripmargin.faultfinding.cases.cautions import AT_REST, FIRST, NEVER_LOCKED, cautions_for, said
from tripmargin.faultfinding.suspects.looks import Question
from tripmargin.faultfinding.wording.card_words import daily_cautions, must_show
from tripmargin.ground.languages import say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.pictures.machine_stands import READ_IT, Control, Sign, Stands, stands_picture

SIGNS = ("lamp", "buzzer", "movement")
WIDEST = 500.0  # px, of the picture: half a desk's page, so that its letters keep their size


@dataclass(frozen=True, slots=True)
class Plate:
    """A button: what it sends, what it says, what is said behind it."""

    sends: str
    says: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Advised:
    """The card that was asked for, as What's wrong shows one."""

    cautions: tuple[str, ...]
    state: str
    way: tuple[str, ...]
    do: str
    place: str
    sends: str


def fault_page(drill: d.Drill, *, width: float, sun: bool) -> dict[str, Any]:
    """The context of the page."""
    of, at = drill.of, drill.play.at
    state = of.states[at]
    last = drill.play.moves[-1] if drill.play.moves else None
    two = state.running or state.live
    stands = stands_of(drill)
    return {
        "complaint": say(COMPLAINTS[drill.complaint]),
        "state": as_written(state.name),
        "cautions": tuple(
            dict.fromkeys((*cautions_for(state, two), say(FIRST), say(NEVER_LOCKED)))
        ),
        "stands": stands_picture(stands, width=min(width, WIDEST), sun=sun),
        "read_it": say(READ_IT),
        "ways": _ways(of, at),
        "signs": _looks(of, state.name, signs=True),
        "looks": _looks(of, state.name, signs=False),
        "other_looks": [
            (
                as_written(each.name),
                [*_looks(of, each.name, signs=True), *_looks(of, each.name, signs=False)],
            )
            for each in of.states
            if each.name != state.name
        ],
        "repairs": [_repair(of, name) for name in d.repairs_of(of)],
        "advised": _advised(drill),
        "handing_over": hand_over_minutes(of, at),
        "handed_over_points": HANDED_OVER,
        "tested": _tested(of, last),
        "found": _found(of, last),
    }


def stands_of(drill: d.Drill) -> Stands:
    """How the machine stands, and what was looked at since it stands so."""
    of, at = drill.of, drill.play.at
    state, seen = of.states[at], _seen_here(drill)
    signs = tuple(
        Sign(q.subject, q.kind, seen.get(q.id, ""))
        for q in of.questions.values()
        if q.state == state.name and q.kind in SIGNS
    )
    return Stands(state.name, state.running, state.live, _controls(of, at), signs)


def _seen_here(drill: d.Drill) -> dict[str, str]:
    """Looks since the machine was last moved, mended or tested."""
    seen: dict[str, str] = {}
    for move in drill.play.moves:
        if move.unsafe:
            continue
        if move.do in (d.GO, d.MEND, d.TEST):
            seen = {}
        elif move.do == d.LOOK:
            seen[move.what] = move.came
    return seen


def _controls(of: MachineProblem, at: int) -> tuple[Control, ...]:
    """Every switch that is moved on the way to some state, where it stands now."""
    circuit = of.machine.circuit
    steps = {} if circuit is None else {each.name: dict(each.switches) for each in circuit.steps}
    places: dict[str, dict[str, None]] = {}
    for state in of.states:
        for name in state.steps:
            for switch, place in steps[name].items():
                places.setdefault(switch, {}).setdefault(place)
    now = steps[of.states[at].steps[-1]]
    return tuple(_control(name, list(known), now.get(name)) for name, known in places.items())


def _control(name: str, known: list[str], now: str | None) -> Control:
    """A switch that a step does not name is off, or in the middle (circuit/steps.py)."""
    rest = "neutral" if "neutral" in known else "off"
    if rest not in known:
        known = [rest, *known]
    if "neutral" in known and len(known) == 3:
        known = [known[known.index(each)] for each in known if each != "neutral"]
        known.insert(1, "neutral")
    return Control(name, now or rest, tuple(known))


def _ways(of: MachineProblem, at: int) -> list[Plate]:
    found = []
    for number, state in enumerate(of.states):
        minutes = float(of.problem.move[at, number])
        how = (
            say("engine runs") if state.running else say("key on") if state.live else say("at rest")
        )
        note = say("{how}, {minutes:.1f} min", how=how, minutes=minutes)
        if number != at:
            found.append(Plate(f"{d.GO}:{state.name}", as_written(state.name), note))
    return found


def _looks(of: MachineProblem, state: str, *, signs: bool) -> list[Plate]:
    """What is seen or heard in a state, or what is measured and tried in it."""
    return [
        _look(of, each)
        for each in of.questions.values()
        if each.state == state and (each.kind in SIGNS) == signs
    ]


def _look(of: MachineProblem, question: Question) -> Plate:
    place = question.place or ""
    if not place and seen_from_the_seat(of, question):
        place = say("from the seat")
    minutes = say("{minutes:.1f} min", minutes=question.minutes)
    says = do_words(question)
    if question.about not in says:
        says = say("{subject}: {do}", subject=question.about, do=says)
    return Plate(f"{d.LOOK}:{question.id}", says, ", ".join(filter(None, (place, minutes))))


def _repair(of: MachineProblem, name: str) -> Plate:
    work = of.works[name]
    note = say("{minutes:.0f} min", minutes=work.minutes)
    if work.price:
        note = say(
            "{minutes:.0f} min, parts at a price of {price:g}",
            minutes=work.minutes, price=work.price,
        )  # fmt: skip
    if work.module:
        note = say("{note}; a module, replaced whole", note=note)
    return Plate(f"{d.MEND}:{name}", work.short, note)


def hand_over_minutes(of: MachineProblem, at: int) -> float:
    """What handing the machine over costs in state number `at`, minutes."""
    row = of.problem.numbers[f"repair:{HAND_OVER}"] - len(of.problem.checks)
    return float(of.problem.fix_minutes[at, row])


def _advised(drill: d.Drill) -> Advised | None:
    """The card, where it was asked for with the last move."""
    last = drill.play.moves[-1] if drill.play.moves else None
    if last is None or last.do != d.HINT:
        return None
    of = drill.of
    kind = last.came
    if kind == d.LOOK:
        question = of.questions[last.what]
        state = next(each for each in of.states if each.name == question.state)
        two = (state.running or state.live) and not seen_from_the_seat(of, question)
        way = () if of.states[drill.play.at].name == state.name else state.way
        cautions = (*cautions_for(state, two), say(FIRST))
        return Advised(
            cautions, as_written(state.name), way, do_words(question), question.place, "card"
        )
    rest = of.states[of.problem.start_state]
    if kind == d.MEND:
        way = () if drill.play.at == of.problem.start_state else rest.way
        work = of.works[last.what]
        cautions = said((*AT_REST, FIRST))
        return Advised(cautions, as_written(rest.name), way, work.do, work.place, "card")
    do = {
        d.TEST: say("Make the daily test."),
        d.DECLARE: say("Declare it mended: the daily test proves enough."),
        d.HAND_OVER: say("Hand the machine over."),
    }[kind]
    return Advised((), "", (), do, "", "card" if kind == d.TEST else "")


def card_steps(drill: d.Drill) -> list[tuple[str, str]]:
    """The moves that do what the card asks: into its state, and the look or the work."""
    last = drill.play.moves[-1] if drill.play.moves else None
    if last is None or last.do != d.HINT or last.came not in (d.LOOK, d.MEND, d.TEST):
        return []
    of = drill.of
    here = of.states[drill.play.at].name
    if last.came == d.TEST:
        return [(d.TEST, "")]
    there = of.states[of.problem.start_state].name
    if last.came == d.LOOK:
        there = of.questions[last.what].state
    return [*([] if here == there else [(d.GO, there)]), (last.came, last.what)]


def _tested(of: MachineProblem, last: d.Move | None) -> dict[str, Any] | None:
    """The daily test step by step, where it was made with the last move."""
    if last is None or last.do != d.TEST:
        return None
    steps = daily_test(of)
    word, _, step = last.came.partition(" at step ")
    failed = int(step) if step else 0
    return {
        "passed": word == "passed",
        "failed": failed,
        "cautions": daily_cautions(steps),
        "steps": [(each.do, must_show(each)) for each in steps],
    }


def _found(of: MachineProblem, last: d.Move | None) -> dict[str, str] | None:
    """What the last look showed, beside a sound machine."""
    if last is None or last.do != d.LOOK or last.unsafe:
        return None
    question = of.questions[last.what]
    sound = (
        say("As on a sound machine.")
        if last.came == question.sound
        else say("On a sound machine: {shows}.", shows=question.said(question.sound))
    )
    return {"subject": question.about, "shows": question.said(last.came), "sound": sound}
