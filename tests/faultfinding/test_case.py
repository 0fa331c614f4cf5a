"""A case's entries and beliefs: what is taken, what is refused, what goes back and forth."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.faultfinding.problems import number, problem_of
from tripmargin.faultfinding import CLOSED, HANDED_OVER, OPEN, PROVING, Case
from tripmargin.faultfinding.cases.machine_beside import MachineBesideError
from tripmargin.faultfinding.cases.resuming import MachineChangedError
from tripmargin.faultfinding.cases.telling import because
from tripmargin.faultfinding.deciding.problem import Check
from tripmargin.faultfinding.deciding.troubles import ProblemError
from tripmargin.faultfinding.suspects.complaints import COMPLAINTS
from tripmargin.faultfinding.suspects.hypotheses import NOTHING, SOMETHING_ELSE
from tripmargin.faultfinding.suspects.machine_problem import MachineProblem
from tripmargin.faultfinding.suspects.repairs import HAND_OVER, PROVE_AGAIN
from tripmargin.ground.errors import NotKnownError
from tripmargin.machine import demo_machines, load_machine
from tripmargin.machine.files import Sheet
from tripmargin.machine.loading import machine_from

machines = pytest.mark.parametrize("name", demo_machines())


def a_meter(of, unit="V"):
    return next(q for q in of.questions.values() if q.bands is not None and q.bands.unit == unit
                and q.bands.limits)  # fmt: skip


def a_lamp(of):
    return next(q for q in of.questions.values() if q.kind == "lamp")


# --- what is taken -------------------------------------------------------------------------------


@machines
def test_every_word_of_every_question_can_be_recorded(name):
    of = problem_of(name)
    case = Case(of)
    for question in of.questions.values():
        for word in (*question.words, "can't tell", "saw something else"):
            case.record(question.id, word)
            assert case.entries[-1]["word"] == word
            case.undo()
    assert case.entries == ()


@pytest.mark.parametrize("unit", ["V", "ohm"])
@machines
def test_a_reading_given_as_a_number_falls_into_its_band(name, unit):
    # by hand: a limit belongs to the band above it
    of = problem_of(name)
    question = a_meter(of, unit)
    limits = question.bands.limits
    rank = 0
    for rank, limit in enumerate(limits):
        for reading, expected in (
            (np.nextafter(limit, -1.0), rank), (limit, rank + 1), (limit + 1e-9, rank + 1)
        ):  # fmt: skip
            case = Case(of)
            case.record(question.id, float(reading))
            entry = case.entries[-1]
            assert entry["word"] == question.bands.words[expected]
            assert entry["reading"] == float(reading)
    case = Case(of)
    case.record(question.id, 0)
    assert case.entries[-1]["word"] == question.bands.words[0]
    case.undo()
    case.record(question.id, limits[-1] * 1.5)
    assert case.entries[-1]["word"] == question.bands.words[-1]
    assert rank == len(limits) - 1


def test_a_reading_is_believed_as_its_band_is():
    of = problem_of("whimbrel")
    question = a_meter(of)
    by_number, by_word = Case(of), Case(of)
    by_number.record(question.id, question.bands.limits[0] - 0.01)
    by_word.record(question.id, question.bands.words[0])
    assert by_number.beliefs() == by_word.beliefs()


def test_a_note_is_kept_with_its_entry():
    case = Case(problem_of("dunlin"))
    case.record(a_lamp(case.of).id, "saw something else", note="it glows green")
    assert case.entries[-1]["note"] == "it glows green"


def test_a_complaint_can_be_given_at_once_or_recorded_later():
    of = problem_of("dunlin")
    later = Case(of)
    assert later.next_checks(1)[0].kind in ("ask", "look")
    later.record("complaint", "dead")
    assert later.beliefs() == Case(of, complaint="dead").beliefs()


# --- what is refused -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("check", "finding", "said"),
    [
        ("armed: trip latchd", "on", "Did you mean 'armed: trip latched'?"),
        ("mend W33", "passed", "Did you mean 'mend W3'?"),
        ("hand ovr", "why", "Did you mean 'hand over'?"),
        ("xyzzy", "on", "no such card"),
        ("armed: trip latched", "onn", "Did you mean 'on'?"),
        ("armed: trip latched", 1.0, "no such finding"),
        ("armed: trip latched", True, "no such finding"),
        ("at rest: battery", "plenty", "no such finding"),
        ("at rest: battery", True, "no such finding"),
        ("mend W3", "pased", "Did you mean 'passed'?"),
        ("mend W3", "on", "passed, failed"),
    ],
)
def test_what_is_no_card_or_no_finding_is_refused_and_nothing_is_recorded(check, finding, said):
    case = Case(problem_of("whimbrel"), complaint="dead")
    before = case.file.entries, case.beliefs()
    with pytest.raises(ProblemError) as refused:
        case.record(check, finding)
    assert said in str(refused.value)
    assert (case.file.entries, case.beliefs()) == before


@pytest.mark.parametrize("reading", [float("nan"), -float("inf")])
def test_a_reading_that_is_none_is_refused(reading):
    case = Case(problem_of("whimbrel"))
    with pytest.raises(ProblemError):
        case.record("at rest: battery", reading)
    assert case.file.entries == ()


def test_a_complaint_that_is_none_is_refused_with_the_nearest_named():
    with pytest.raises(ProblemError, match="Did you mean 'dead'"):
        Case(problem_of("dunlin"), complaint="ded")


def test_the_complaint_is_recorded_once():
    case = Case(problem_of("dunlin"), complaint="dead")
    with pytest.raises(ProblemError, match="asked already"):
        case.record("complaint", "stops on nothing")
    assert len(case.entries) == 1
    case.record(case.of.repairs[0].id, "failed")
    with pytest.raises(ProblemError, match="asked already"):
        case.record("complaint", "stops on nothing")
    case.undo()
    case.undo()
    case.record("complaint", "stops on nothing")
    assert [entry["word"] for entry in case.entries] == ["stops on nothing"]


def test_a_look_is_made_once_until_something_was_repaired():
    case = Case(problem_of("dunlin"))
    lamp = a_lamp(case.of)
    case.record(lamp.id, "can't tell")
    with pytest.raises(ProblemError, match="looked at already"):
        case.record(lamp.id, lamp.sound)
    assert len(case.entries) == 1


def test_a_machine_that_says_nothing_of_its_checks_is_no_case():
    tables = {"format": 1, "machine": {"name": "Bare"}}
    machine = machine_from((Sheet("bare.toml", b"", tables),), "bare.toml")
    with pytest.raises(NotKnownError, match="needs checks"):
        Case(machine)


# --- back and forth ------------------------------------------------------------------------------


def test_undo_and_redo_step_through_a_case_as_it_was():
    case = Case(problem_of("whimbrel"), complaint="feed stays stopped")
    words = ["armed: trip latched", "at rest: fuse F3", "held: hold powered"]
    seen = [(case.beliefs(), case.status, case.situation.state)]
    for check in words:
        case.record(check, case.of.questions[check].sound)
        seen.append((case.beliefs(), case.status, case.situation.state))
    for expected in reversed(seen[:-1]):
        assert case.undo() is not None
        assert (case.beliefs(), case.status, case.situation.state) == expected
    for expected in seen[1:]:
        assert case.redo() is not None
        assert (case.beliefs(), case.status, case.situation.state) == expected
    assert case.redo() is None
    assert len(case.file.entries) == 4 + 6  # nothing is wiped out


def test_there_is_nothing_to_undo_in_a_new_case():
    case = Case(problem_of("dunlin"))
    assert case.undo() is None
    assert case.redo() is None


def test_an_ended_case_can_be_opened_again_by_taking_its_end_back():
    case = Case(problem_of("dunlin"), complaint="dead")
    case.record(HAND_OVER, "too dark")
    assert case.status == HANDED_OVER
    with pytest.raises(ProblemError, match="the case has ended"):
        case.record(a_lamp(case.of).id, "on")
    case.undo()
    assert case.status == OPEN
    assert case.next_checks(1)


# --- statuses ------------------------------------------------------------------------------------


def with_prior(name, chances):
    of = problem_of(name)
    prior = np.zeros(len(of.hypotheses))
    for fault, chance in chances.items():
        prior[number(of, fault)] = chance
    return replace(of, problem=replace(of.problem, prior=prior))


def test_a_case_is_closed_when_no_more_than_1_percent_is_left():
    # by hand: the fuse is mended; the clearance passes unseen
    for left, status in ((0.0101, PROVING), (0.0099, CLOSED), (0.6, OPEN)):
        of = with_prior("whimbrel", {"F3:open": 1 - left, "clearance_wide": left})
        case = Case(of)
        case.record("mend F3", "passed")
        assert case.status == status
        assert (case.next_checks() == ()) == (status == CLOSED)


def test_a_failed_test_opens_a_case_again_that_was_nearly_proved():
    case = Case(with_prior("whimbrel", {"F3:open": 0.8, "clearance_wide": 0.2}))
    case.record("mend F3", "passed")
    assert case.status == PROVING
    case.record(PROVE_AGAIN, "failed")
    assert case.status == OPEN


def test_a_look_closes_a_case_that_only_waits_for_it_or_opens_it_again():
    # by hand: 0.05 x 0.03 / (0.95 x 0.97): 0.16 % left; and 0.05 x 0.97 / (0.95 x 0.03): 63 %
    for found, status in (("sound", CLOSED), ("wrong", OPEN)):
        case = Case(with_prior("whimbrel", {"F3:open": 0.95, "clearance_wide": 0.05}))
        case.record("mend F3", "passed")
        question = case.of.questions["at rest: pawl clearance"]
        row = next(e for e in case.of.looks if e.question is question).answers
        wide = question.words[row[number(case.of, "clearance_wide")]]
        case.record(question.id, question.sound if found == "sound" else wide)
        assert case.status == status


def test_findings_without_a_repair_never_close_a_case():
    case = Case(with_prior("whimbrel", {NOTHING: 0.999, "F3:open": 0.001}))
    case.record("at rest: fuse F3", "whole")
    assert case.status == OPEN
    case.record(PROVE_AGAIN, "passed")
    assert case.status == CLOSED


# --- what is believed ----------------------------------------------------------------------------


@machines
def test_beliefs_sum_to_1_and_come_likeliest_first_after_whatever_was_found(name):
    of, rng = problem_of(name), np.random.default_rng(5)
    case = Case(of, complaint="stops on nothing")
    for question in rng.permutation(list(of.questions))[:30]:
        words = [*of.questions[question].words, "can't tell", "saw something else"]
        case.record(question, str(rng.choice(words)))
        chances = list(case.beliefs().values())
        assert sum(chances) == pytest.approx(1, abs=1e-12)
        assert chances == sorted(chances, reverse=True)
        assert min(chances) > 0


@machines
def test_the_chance_of_a_repair_is_that_of_all_it_cures(name):
    of = problem_of(name)
    case = Case(of, complaint="feed stays stopped")
    believed, by_repair = case.beliefs(), case.by_repair()
    assert list(by_repair.values()) == sorted(by_repair.values(), reverse=True)
    assert set(by_repair) == set(of.works)
    for work in of.repairs[:-2]:
        cured = [h for h in of.hypotheses if h.causes
                 and {c.mended for c in h.causes} <= set(work.mended)]  # fmt: skip
        mine = sum(believed.get(each.id, 0.0) for each in cured)
        assert by_repair[work.id] == pytest.approx(mine, abs=1e-12)
    assert by_repair[PROVE_AGAIN] == pytest.approx(believed[NOTHING], abs=1e-12)
    assert by_repair[HAND_OVER] == pytest.approx(believed[SOMETHING_ELSE], abs=1e-12)


@machines
def test_a_complaint_raises_the_faults_that_give_rise_to_it(name):
    of = problem_of(name)
    k = list(COMPLAINTS).index("dead")
    before, after = of.problem.prior, Case(of, complaint="dead").situation.belief
    row = of.problem.likelihood[:, k]
    assert after == pytest.approx(before * row / (before @ row))


@machines
def test_answers_that_contradict_each_other_go_to_something_else(name):
    of = problem_of(name)
    case = Case(of, complaint="feed stays stopped")
    before = case.beliefs()[SOMETHING_ELSE]
    for question in list(of.questions.values())[:6]:
        case.record(question.id, "saw something else")
    assert case.beliefs()[SOMETHING_ELSE] > 0.99 > before
    card = case.next_checks(1)[0]
    assert card.id == HAND_OVER
    assert "What was found fits nothing that is listed for this machine." in card.because


@machines
def test_random_answers_fit_nothing_better_than_something_else(name):
    of, rng = problem_of(name), np.random.default_rng(8)
    case = Case(of)
    for question in rng.permutation(list(of.questions))[:60]:
        case.record(question, str(rng.choice(of.questions[question].words)))
    assert next(iter(case.beliefs())) == SOMETHING_ELSE


def test_what_nothing_believed_explains_is_something_else_and_named():
    of = with_prior("whimbrel", {"F3:open": 1.0})
    case = Case(of)
    case.record("mend F3", "failed")
    assert case.beliefs() == {SOMETHING_ELSE: 1.0}
    assert case.situation.contradicted == ("repair:mend F3 = failed",)
    (first, *_) = case._ranked(1)
    lines = because(of, case.situation, case.status, [first])
    assert any("fits nothing that is listed" in line for line in lines)


# --- what to do next -----------------------------------------------------------------------------


@machines
@pytest.mark.parametrize("complaint", ["feed stays stopped", "metal went through", "dead"])
def test_the_next_cards_are_all_different(name, complaint):
    case = Case(problem_of(name), complaint=complaint)
    for n in (1, 3, 8, 20):
        cards = case.next_checks(n)
        assert len(cards) == n
        assert len({card.id for card in cards}) == n
        assert cards[0].id == case.next_checks(1)[0].id
        few = [card.id for card in case.next_checks(max(n // 2, 1))]
        assert [card.id for card in cards][: len(few)] == few  # the order stays as it was
    assert case.next_checks(0) == ()


@machines
def test_what_was_done_is_not_proposed_again(name):
    of, rng = problem_of(name), np.random.default_rng(4)
    case = Case(of, complaint="stops on nothing")
    for _ in range(12):
        offered = case.next_checks(4)
        done = {entry.get("check") for entry in case.entries}
        assert not done & {card.id for card in offered}
        look = next((card for card in offered if card.kind == "look"), None)
        if look is None:
            break
        case.record(look.id, str(rng.choice([each.word for each in look.answers])))
    assert len(case.entries) > 3


@machines
def test_no_look_with_only_one_answer_is_ever_asked(name):
    of = problem_of(name)
    for look in of.looks:
        assert len(set(look.answers.tolist())) > 1
        assert len(look.question.words) > 1


def shuffled(of: MachineProblem, rng: np.random.Generator) -> MachineProblem:
    """The same machine with its hypotheses and its repairs in another order."""
    count = len(of.hypotheses)
    order = np.array([*rng.permutation(count - 2), count - 2, count - 1])
    works = rng.permutation(len(of.repairs))
    place = np.empty(count + 1, np.intp)
    place[order], place[-1] = np.arange(count), -1
    problem = replace(
        of.problem,
        hypotheses=tuple(of.problem.hypotheses[h] for h in order),
        prior=of.problem.prior[order],
        likelihood=of.problem.likelihood[order],
        repairs=tuple(of.problem.repairs[r] for r in works),
        left=place[of.problem.left[works][:, order]],
    )
    return replace(
        of,
        hypotheses=tuple(of.hypotheses[h] for h in order),
        looks=tuple(replace(each, answers=each.answers[order]) for each in of.looks),
        repairs=tuple(of.repairs[r] for r in works),
        problem=problem,
        shown=of.shown.of(order),
    )


@machines
def test_listing_faults_and_repairs_in_another_order_changes_nothing(name):
    of, rng = problem_of(name), np.random.default_rng(6)
    for complaint in ("feed stays stopped", "metal went through", "lamp or buzzer wrong"):
        one, other = Case(of, complaint=complaint), Case(shuffled(of, rng), complaint=complaint)
        for _ in range(8):
            assert other.beliefs() == pytest.approx(one.beliefs(), abs=1e-12)
            assert other.by_repair() == pytest.approx(one.by_repair(), abs=1e-12)
            assert other.status == one.status
            mine, theirs = one.next_checks(1)[0], other.next_checks(1)[0]
            assert theirs.id == mine.id
            # of equals at the end of the likeliest hundred, others may be weighed
            assert theirs.expected_minutes == pytest.approx(mine.expected_minutes, rel=2e-3)
            if mine.kind == "hand over":
                break
            chances = np.array([each.chance for each in mine.answers])
            word = mine.answers[rng.choice(len(chances), p=chances / chances.sum())].word
            one.record(mine.id, word)
            other.record(mine.id, word)
            if one.status in (CLOSED, HANDED_OVER):
                break
        assert len(one.entries) > 2


def with_look(of: MachineProblem, check: Check, table: np.ndarray) -> MachineProblem:
    """The same machine with one look more, at the end."""
    problem = of.problem
    more = replace(
        problem,
        checks=(*problem.checks, check),
        likelihood=np.hstack([problem.likelihood, table]),
    )
    question = replace(next(iter(of.questions.values())), id=check.id.removeprefix("check:"))
    look = replace(of.looks[0], question=replace(question, words=check.outcomes[:-2]))
    return replace(of, looks=(*of.looks, look), problem=more)


@machines
def test_a_look_whose_answers_are_all_alike_is_never_asked_and_costs_nothing(name):
    of = problem_of(name)
    row = np.array([0.5, 0.3, 0.15, 0.05])
    check = Check("check:idle", 0, 0.01, ("a", "b", "can't tell", "saw something else"))
    more = with_look(of, check, np.tile(row, (len(of.hypotheses), 1)))
    for complaint in COMPLAINTS:
        one, other = Case(of, complaint=complaint), Case(more, complaint=complaint)
        mine, theirs = one.next_checks(1)[0], other.next_checks(1)[0]
        assert theirs.id == mine.id
        assert theirs.expected_minutes == pytest.approx(mine.expected_minutes, rel=1e-9)
        assert "idle" not in {card.id for card in other.next_checks(25)}


@machines
def test_the_copy_of_a_look_in_a_dearer_state_costs_nothing(name):
    of = problem_of(name)
    problem = of.problem
    for complaint in ("feed stays stopped", "check does not stop it"):
        case = Case(of, complaint=complaint)
        first = next(card for card in case.next_checks(5) if card.kind == "look")
        number_ = problem.numbers[f"check:{first.id}"]
        dearest = int(problem.move[problem.start_state].argmax())
        copied = problem.checks[number_]
        check = Check("check:copy", dearest, copied.minutes + 30, copied.outcomes)
        table = problem.likelihood[:, problem.columns[number_] : problem.columns[number_ + 1]]
        other = Case(with_look(of, check, table), complaint=complaint)
        assert other.next_checks(1)[0].id == case.next_checks(1)[0].id
        assert other.next_checks(1)[0].expected_minutes <= (
            case.next_checks(1)[0].expected_minutes * (1 + 1e-6)
        )


# --- kept and taken up again ---------------------------------------------------------------------


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    case = Case(problem_of("dunlin"), complaint="feed stays stopped", path=tmp_path / "case.jsonl")
    case.record("standing: fuse F1", "whole", note="looks new")
    case.record("mend W3", "failed")
    return tmp_path / "case.jsonl"


@pytest.fixture(autouse=True)
def _read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine whose file did not change is not read again."""
    from tripmargin.faultfinding.suspects.machine_problem import machine_problem
    from tripmargin.machine.copies import digest_of

    def read(machine):
        for name in demo_machines():
            if machine.name.lower() == name and digest_of(machine) == digest_of(load_machine(name)):
                return problem_of(name)
        return machine_problem(machine)

    monkeypatch.setattr("tripmargin.faultfinding.cases.case.machine_problem", read)


def test_a_kept_case_goes_on_as_it_was_left(kept: Path):
    first, again = Case(problem_of("dunlin"), complaint="feed stays stopped"), Case.resume(kept)
    first.record("standing: fuse F1", "whole")
    first.record("mend W3", "failed")
    assert again.beliefs() == first.beliefs()
    assert [entry.kind for entry in again.entries] == ["finding", "finding", "repair"]
    assert again.entries[1]["note"] == "looks new"
    assert again.status == OPEN
    assert again.set_aside == ()
    same = Case.resume(kept, load_machine("dunlin"))
    assert same.beliefs() == first.beliefs()
    again.record(HAND_OVER, "late")
    assert Case.resume(kept).status == HANDED_OVER


def test_a_machine_that_changed_is_told_and_either_may_be_chosen(kept: Path):
    before = Case.resume(kept).beliefs()
    changed = load_machine("dunlin").with_settings({"checks.wrong": "10 %"})
    with pytest.raises(MachineChangedError, match=r"checks\.wrong") as told:
        Case.resume(kept, changed)
    assert [str(each.field) for each in told.value.differences] == ["checks.wrong"]
    as_it_was = Case.resume(kept, changed, keep="as it was")
    assert as_it_was.beliefs() == before
    as_it_is = Case.resume(kept, changed, keep="as it is")
    assert as_it_is.of.checks.wrong.nominal == pytest.approx(0.1)
    assert as_it_is.beliefs() != before
    assert [entry.kind for entry in as_it_is.entries] == ["finding", "finding", "repair"]
    # the choice is kept: next time nothing is asked
    later = Case.resume(kept, changed)
    assert later.beliefs() == as_it_is.beliefs()
    assert Case.resume(kept).beliefs() == as_it_is.beliefs()


def test_a_word_that_is_no_choice_is_refused(kept: Path):
    with pytest.raises(ProblemError, match="'as it was' or 'as it is'"):
        Case.resume(kept, keep="whatever")


def test_what_was_entered_for_a_look_that_is_no_more_is_set_aside_not_lost(kept: Path):
    checks = load_machine("dunlin").checks
    fewer = tuple(look for look in checks.looks if look.name != "fuse F1")
    changed = replace(load_machine("dunlin"), checks=replace(checks, looks=fewer))
    case = Case.resume(kept, changed, keep="as it is")
    assert [entry["check"] for entry in case.set_aside] == ["standing: fuse F1"]
    assert [entry.kind for entry in case.entries] == ["finding", "repair"]
    lines = kept.read_text(encoding="utf-8")
    assert "standing: fuse F1" in lines
    # undoing goes over what was set aside
    case.undo()
    assert [entry.kind for entry in case.entries] == ["finding"]
    assert len(case.set_aside) == 1


def test_a_case_cut_in_half_goes_on_with_about_half_of_its_entries(tmp_path: Path):
    path = tmp_path / "case.jsonl"
    case = Case(problem_of("dunlin"), complaint="feed stays stopped", path=path)
    for question in list(case.of.questions.values())[:9]:
        case.record(question.id, question.sound)
    whole = path.read_bytes()
    assert len(case.entries) == 10
    assert whole.index(b"\n") < 400
    half = tmp_path / "half.jsonl"  # the copy is found by its own name
    half.write_bytes(whole[: len(whole) // 2])
    again = Case.resume(half)
    kept = len(again.entries)
    assert 3 <= kept <= 5
    assert again.entries == case.entries[:kept]
    assert again.file.torn
    while len(case.entries) > kept:
        case.undo()
    assert again.beliefs() == case.beliefs()


def test_a_case_whose_copy_is_lost_goes_on_with_the_same_machine_or_as_it_is(kept: Path):
    before = Case.resume(kept)
    copy = kept.parent / before.file.head["machine_file"]
    whole = copy.read_bytes()
    copy.unlink()
    changed = load_machine("dunlin").with_settings({"checks.wrong": "10 %"})
    for machine in (None, changed):
        with pytest.raises(MachineBesideError, match=rf"{copy.name}.*\n(.*\n)*.*3 entries"):
            Case.resume(kept, machine)
    again = Case.resume(kept, load_machine("dunlin"))
    assert (again.beliefs(), again.entries) == (before.beliefs(), before.entries)
    assert copy.read_bytes() == whole
    copy.write_bytes(whole[:-100])
    as_it_is = Case.resume(kept, changed, keep="as it is")
    assert as_it_is.entries == before.entries
    assert as_it_is.beliefs() != before.beliefs()
    assert Case.resume(kept).beliefs() == as_it_is.beliefs()
