"""What each fault shows to an eye, an ear, a hand or a meter, on the four demo machines.

The words expected below follow from the wiring in the type sheets; each test says how. A meter's
range is named by its beginning: "less than" is the lowest range, "more than" the highest.
"""

from copy import copy

import numpy as np
import pytest

from tests.faultfinding.problems import found, number, problem_of, unlike
from tripmargin.circuit import network_from_machine, operate, resistance, with_faults
from tripmargin.faultfinding.suspects.hypotheses import NOTHING, Hypothesis
from tripmargin.faultfinding.suspects.ohm_readings import Ohmmeter
from tripmargin.faultfinding.suspects.piece_signal import signal_over_threshold
from tripmargin.faultfinding.suspects.states import chain_to, moves
from tripmargin.machine import demo_machines

machines = pytest.mark.parametrize("name", demo_machines())


@machines
def test_what_a_sound_machine_shows_comes_first(name):
    problem = problem_of(name)
    row = number(problem, NOTHING)
    for each in problem.looks:
        assert each.answers[row] == 0
        assert each.question.sound == each.question.words[0]
        assert len(set(each.question.words)) == len(each.question.words) > 1
        assert each.answers.min() >= 0
        assert each.answers.max() < len(each.question.words)


@machines
def test_a_sound_machine_stops_for_metal_and_for_the_button_and_resets(name):
    problem = problem_of(name)
    sound = found(problem, NOTHING)
    turning = next(look.state for look in problem.checks.looks if look.kind == "test piece")
    assert sound[f"{turning}: rolls"] == "forward"
    assert sound[f"{turning}: test piece"] == "the rolls stop"
    assert sound[f"{turning}: stop time"] == "within the limit"
    assert sound[f"{turning}: empty run"] == "turns on"
    daily = next(path for path in problem.checks.paths if path.name == problem.checks.daily)
    assert sound[f"{daily.states[-1]}: rolls"] == "forward"
    assert sound[f"{daily.states[-2]}: rolls"] == "stopped"


# Each row: machine, fault, words expected at questions, and questions that stay as on a sound one
BY_THE_WIRING = [
    # the feed to the solenoid is broken behind the relay: it pulls, so that its buzzer is silent
    # and its output live, but no volts come to the plug
    (
        "dunlin",
        "W8:open",
        {
            "pawls lifted: hold powered": "off",
            "pawls lifted: plunger": "out",
            "pawls lifted: solenoid's plug": "less than",
            "rolls turning: rolls": "stopped",
        },
        ["pawls lifted: relay at rest", "pawls lifted: relay's output", "box armed: trip latched"],
    ),
    # the module resets but its output stays dead: no volts from there on, the relay stays at rest
    (
        "dunlin",
        "D.out.trip_out:never",
        {
            "pawls lifted: relay at rest": "sounds",
            "pawls lifted: relay's coil": "less than",
            "pawls lifted: hold powered": "off",
        },
        ["pawls lifted: trip latched", "box armed: supply in range", "standing: relay K1 tried"],
    ),
    # the trailer has lost its ground: its plug still has the tractor's volts against the battery
    (
        "dunlin",
        "X2:open",
        {
            "box armed: supply in range": "off",
            "box armed: trip latched": "off",
            "box armed: module's supply": "less than",
        },
        ["tractor's key on: plug on the drawbar", "standing: fuse F1", "standing: fuse F2"],
    ),
    # the relay's coil is fed from the module's supply: it holds while the module is tripped
    (
        "dunlin",
        "W7:touches W3",
        {
            "box armed: hold powered": "on",
            "box armed: plunger": "in",
            "button while turning: rolls": "forward",
            "rolls turning: test piece": "the rolls run on",
        },
        ["box armed: trip latched", "button while turning: trip latched"],
    ),
    # the lamp's output and the relay's feed each other: the lamp burns while the module is reset
    (
        "dunlin",
        "W7:touches lamp lead",
        {"pawls lifted: trip latched": "on", "box armed: hold powered": "on"},
        ["pawls lifted: hold powered", "box armed: trip latched"],
    ),
    # the wire rubs on the frame behind fuse F2, which goes; the relay's supply is before it
    (
        "dunlin",
        "W3:chafed",
        {
            "standing: fuse F2": "gone",
            "standing: module's feed to ground": "less than",
            "box armed: supply in range": "off",
        },
        ["standing: fuse F1", "tractor's key on: supply in the box"],
    ),
    ("dunlin", "battery:weak", {"standing: battery": "less than"}, ["standing: fuse F1"]),
    # one winding over another: half of the turns, half of the ohms
    ("dunlin", "S:turns", {"standing: sensor alone": "less than"}, []),
    # V1 leads the held relay's volts to the forward clutch, and nothing else does
    (
        "curlew",
        "V1:open",
        {
            "solenoid held: behind the diode V1": "less than",
            "forward pressed: forward clutch fed": "off",
            "feed forwards: rolls": "stopped",
        },
        ["solenoid held: relay's output", "solenoid held: hold powered", "feed backwards: rolls"],
    ),
    # both clutches' wires touch: reverse lights the lamp of the forward clutch, a sneak path
    (
        "curlew",
        "W9:touches W10",
        {"reverse pressed: forward clutch fed": "on"},
        ["solenoid held: hold powered", "feed forwards: rolls", "parked: fuse F1"],
    ),
    # the solenoid's feed touches 30: nothing that trips the module lets it go
    (
        "curlew",
        "W8:touches 30",
        {
            "hand set on: hold powered": "on",
            "loop check held: plunger": "in",
            "parked: solenoid's lead to supply": "less than",
        },
        ["loop check held: trip latched", "loop check held: trip output live"],
    ),
    # the lamp check feeds both lamp and buzzer through diodes; V3 is the buzzer's
    (
        "curlew",
        "V3:open",
        {"lamps pressed: supply low": "silent"},
        ["lamps pressed: trip latched", "hand set on: trip latched"],
    ),
    # K0 hands the battery's volts on; the key still reaches its coil
    (
        "whimbrel",
        "K0:make",
        {
            "key on: K0's output": "less than",
            "at rest: relay K0 tried": "clicks, its make contact leaves a test lamp dim or dark",
            "armed: supply in range": "off",
        },
        ["key on: behind the key", "at rest: K0's supply", "at rest: fuse F1"],
    ),
    # the module never tells K2 to pull: the plunger stays out, all that K1 feeds is as it should be
    (
        "whimbrel",
        "D.out.pull_out:never",
        {"held: plunger": "out"},
        ["held: hold powered", "held: trip latched", "at rest: relay K2 tried"],
    ),
    (
        "whimbrel",
        "K2:make",
        {
            "held: plunger": "out",
            "at rest: relay K2 tried": "clicks, its make contact leaves a test lamp dim or dark",
        },
        ["held: hold powered", "at rest: pull winding's lead"],
    ),
    # the hold winding's feed reaches the pull winding too, whose lamp then burns on
    ("whimbrel", "W8:touches W10", {"held: pull fed": "on"}, ["held: hold powered"]),
    # the broken return leaves the module's feed of the lead unloaded, and it comes up tripped
    (
        "whimbrel",
        "W6:open",
        {
            "held: trip latched": "on",
            "at rest: sensor's lead, return": "more than",
        },
        ["at rest: sensor alone", "armed: supply in range"],
    ),
    # the relay's 85 lies on the frame: it pulls as soon as the arm switch is on
    (
        "sanderling",
        "W7:touches frame",
        {"arm switch on: feed free": "on", "chute check held: plunger": "in"},
        ["arm switch on: trip latched", "chute check held: trip latched", "off: fuse F2"],
    ),
    # the buzzer is dead: the lock's pin has its volts all the same
    (
        "sanderling",
        "unprotected:open",
        {"bolt in: unprotected": "silent"},
        ["bolt in: lock's pin, bolt in", "bolt in: trip latched"],
    ),
    # the lever's contact for reverse is also what feeds coil R; its own reset contact is another
    (
        "sanderling",
        "reverse:never",
        {"rolls in reverse: rolls": "stopped", "bar at reverse: coil R's feed": "less than"},
        ["bar at reverse: reset heard", "bar in the middle: feed free"],
    ),
]


@pytest.mark.parametrize(
    ("name", "fault", "expected", "sound"),
    BY_THE_WIRING,
    ids=[f"{name}: {fault}" for name, fault, _, _ in BY_THE_WIRING],
)
def test_a_fault_shows_what_the_wiring_says(name, fault, expected, sound):
    words = found(problem_of(name), fault)
    for question, word in expected.items():
        assert words[question].startswith(word), (question, words[question])
    other = unlike(problem_of(name), fault)
    assert not [question for question in sound if question in other]
    assert all(question in words for question in sound)


# Faults outside the wiring, and a dead lamp or buzzer: they show in these subjects and no others
ONLY = [
    ("clearance_wide", {"pawl clearance": "too wide", "stop time": "over the limit"}),
    ("plunger_spring_weak", {"plunger": "comes back slowly", "stop time": "over the limit"}),
    ("S:magnets weak", {"roll magnetism": "it is hardly", "test piece": "the rolls run on"}),
    ("S:turned", {"roll magnetism": "it is pulled on the side", "test piece": "the rolls run on"}),
    ("D:gain low", {"test piece": "the rolls run on"}),
    ("D:noisy", {"empty run": "stops by itself or stands"}),
    (
        "roll:magnetised",
        {"roll magnetism": "it is pulled elsewhere", "empty run": "stops by itself"},
    ),
    (
        "pawl clearance:narrow",
        {"pawl clearance": "too narrow", "empty run": "stops by itself or stands"},
    ),
]


@machines
@pytest.mark.parametrize(("fault", "expected"), ONLY, ids=[fault for fault, _ in ONLY])
def test_a_fault_outside_the_wiring_shows_where_it_acts_and_nowhere_else(name, fault, expected):
    seen = {key.split(": ", 1)[1]: word for key, word in unlike(problem_of(name), fault).items()}
    assert set(seen) == set(expected)
    for subject, word in expected.items():
        assert seen[subject].startswith(word)


@machines
def test_a_dead_lamp_or_buzzer_shows_only_itself_and_what_is_measured_at_it(name):
    problem = problem_of(name)
    ids = [each.id for each in problem.hypotheses]
    dead = [sign for sign, _, _ in problem.shown.signs if f"{sign}:open" in ids]
    assert len(dead) >= 4
    for sign in dead:
        for question in unlike(problem, f"{sign}:open"):
            asked = problem.questions[question]
            assert asked.subject == sign or asked.kind in ("volts", "ohms"), question


@machines
def test_the_test_piece_is_seen_with_sound_magnets_and_missed_with_weak_ones(name):
    problem = problem_of(name)
    look = next(each for each in problem.checks.looks if each.kind == "test piece")
    sound = signal_over_threshold(problem.machine, look, None)
    assert 1.5 <= sound <= 2.3
    weak = [cause for h in problem.hypotheses for cause in h.causes if cause.id.endswith("weak")]
    magnets = next(each.physical for each in weak if each.physical is not None)
    assert signal_over_threshold(problem.machine, look, magnets) == pytest.approx(sound * 0.35)
    assert sound * 0.35 < 1


@machines
def test_no_way_between_states_is_quicker_by_a_detour(name):
    move = problem_of(name).problem.move
    assert (np.diag(move) == 0).all()
    assert (move[~np.eye(len(move), dtype=bool)] >= 0).all()
    detours = (move[:, :, None] + move[None, :, :]).min(axis=1)
    assert np.allclose(np.minimum(detours, move), move)


@machines
def test_the_way_from_rest_takes_the_minutes_of_the_states_on_it(name):
    checks = problem_of(name).checks
    move = moves(checks)
    names = [state.name for state in checks.states]
    rest = next(k for k, state in enumerate(checks.states) if state.after is None)
    for column, state in enumerate(names):
        minutes = sum(each.minutes.nominal for each in chain_to(checks, state)) / 60
        assert move[rest, column] == pytest.approx(minutes)
        back = checks.states[column].back.nominal / 60
        assert move[column, rest] <= back + 1e-9


@machines
def test_every_reading_falls_in_its_range_with_room(name):
    problem = problem_of(name)
    shown = problem.shown
    states = [state.name for state in problem.states]
    count = 0
    for look in problem.checks.looks:
        question = problem.questions.get(f"{look.state}: {look.name}")
        if look.kind != "volts" or question is None:
            continue
        readings = shown.readings(states.index(look.state), *look.between)
        answers = next(x.answers for x in problem.looks if x.question is question)
        for reading, answer, each in zip(readings, answers, problem.hypotheses, strict=True):
            assert question.bands.word(reading) == question.words[answer]
            if each.causes and not each.listed:
                continue  # the ranges are made for single faults at their listed strength
            assert all(abs(reading - limit) > 0.099 for limit in question.bands.limits)
            count += 1
    assert count > 1000


@machines
def test_ohms_are_those_of_the_circuit_without_its_battery(name):
    problem = problem_of(name)
    network = network_from_machine(problem.machine)
    single = [h for h in problem.hypotheses if len(h.causes) == 1 and h.faults][::9]
    looks = [look for look in problem.checks.looks if look.kind == "ohms"]
    assert len(looks) >= 10
    rest = next(state for state in problem.states if not state.live)
    steps = [*problem.checks.worked, *rest.steps]
    closed = {h.id: operate(network, steps, h.faults)[-1].closed for h in single}
    looks = [look for look in looks if f"{look.state}: {look.name}" in problem.questions]
    for look in looks:
        question = problem.questions[f"{look.state}: {look.name}"]
        words = found_by_look(problem, question.id)
        for hypothesis in single:
            faulty = with_faults(network, hypothesis.faults)
            out = [
                part.name
                for part in faulty.parts
                if any(
                    part.name == each or part.name.startswith(f"{each}.") for each in look.unplugged
                )
                and not part.name.endswith((".chafed", ".touch"))
            ]
            ohm = resistance(
                faulty,
                *look.between,
                closed=[each for each in closed[hypothesis.id] if each not in out],
                unplugged=out,
            )
            assert question.bands.word(ohm) == words[hypothesis.id], (look.name, hypothesis.id)


def found_by_look(problem, question):
    """The word of every hypothesis at one question."""
    each = next(x for x in problem.looks if x.question.id == question)
    words = [each.question.words[answer] for answer in each.answers]
    return dict(zip([h.id for h in problem.hypotheses], words, strict=True))


@pytest.mark.parametrize("name", ["sanderling", "whimbrel"])
def test_faults_that_an_ohmmeter_cannot_reach_are_left_out_without_harm(name, monkeypatch):
    problem = problem_of(name)
    shown = problem.shown.of(np.arange(0, len(problem.hypotheses), 2))
    looks = [look for look in problem.checks.looks if look.kind == "ohms"][:10]
    rest = [state.live for state in problem.states].index(False)
    screened = [shown.ohms(rest, look) for look in looks]
    monkeypatch.setattr(Ohmmeter, "_near", lambda self, fault, nodes: True)
    shown._ohms.clear()
    for look, (bands, words) in zip(looks, screened, strict=True):
        all_bands, all_words = shown.ohms(rest, look)
        assert all_bands == bands, look.name
        assert (all_words == words).all(), look.name


def test_a_wire_on_the_frame_behind_a_broken_ground_reads_what_the_two_faults_make_together():
    # 15b lies on the frame; the panel's ground 31 reaches the frame only through the joint "frame"
    problem = problem_of("sanderling")
    words = found_by_look(problem, "off: panel's feed to ground")
    assert words["W1:chafed"].startswith("less than")
    assert words["W1:open"].endswith("or overload")
    assert words["frame:corroded"].endswith("or overload")
    causes = {each.id: each.causes[0] for each in problem.hypotheses if len(each.causes) == 1}
    both = tuple(causes[name] for name in ("W1:chafed", "frame:corroded"))
    pair = Hypothesis("both", both, 0.0)
    shown = copy(problem.shown)
    shown._ohms = {}
    shown.hypotheses = [*problem.hypotheses[:-2], pair, *problem.hypotheses[-2:]]
    look = next(each for each in problem.checks.looks if each.name == "panel's feed to ground")
    rest = [state.name for state in problem.states].index(look.state)
    assert shown.ohms(rest, look)[1][-3] == words["W1:chafed"]  # 2 ohm more is no overload
