"""`find-fault`: whole cases at the terminal, and everything that may come between."""

from __future__ import annotations

import json
import re
import shutil
import signal
from dataclasses import dataclass
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tripmargin.cli.case_words import keyed
from tripmargin.cli.main import main
from tripmargin.faultfinding import (
    CLOSED,
    COMPLAINTS,
    HANDED_OVER,
    OPEN,
    PROVING,
    Card,
    Case,
    MachineProblem,
    machine_problem,
)
from tripmargin.faultfinding.cases.so_far import done_so_far
from tripmargin.faultfinding.cases.ways import daily_test, way_to
from tripmargin.faultfinding.suspects.kept_folder import kept_folder
from tripmargin.faultfinding.wording.readings import finding_of
from tripmargin.faultfinding.wording.report_words import proof
from tripmargin.ground.errors import QuantityError
from tripmargin.machine import load_machine
from tripmargin.machine.loading import DEMO_MACHINES, demo_path

FUSE_LOOK = re.compile(r'^"fuse F3" = .*\n', re.MULTILINE)
STAYS_STOPPED = str(list(COMPLAINTS).index("feed stays stopped") + 1)


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder and a terminal of a known width."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    return tmp_path


@pytest.fixture(scope="module")
def whimbrel() -> MachineProblem:
    return machine_problem(load_machine("whimbrel"))


def run(*args: str, typed: str = "") -> Result:
    result = CliRunner().invoke(main, ["find-fault", *args], input=typed)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.output
    return result


def words(result: Result) -> str:
    return " ".join(result.output.split())


def kept() -> Path:
    (path,) = Path().glob("case-*.jsonl")
    return path


# --- a whole case ------------------------------------------------------------------------------


@dataclass
class Broken:
    """A machine with a fault in it: it answers cards as the problem's own table says."""

    of: MachineProblem
    number: int

    def answers(self, card: Card) -> tuple[str, str]:
        """The key to type, and the word that it stands for."""
        if card.kind in ("repair", "test"):
            repair = self.of.problem.numbers[f"repair:{card.id}"] - len(self.of.problem.checks)
            self.number = int(self.of.problem.left[repair, self.number])
            well = self.number == -1 or not self.of.daily_shows[self.number]
            return ("1", "passed") if well else ("2", "failed")
        look = next(each for each in self.of.looks if each.question.id == card.id)
        place = look.answers[self.number] if self.number >= 0 else 0
        word = look.question.words[place]
        if look.question.bands is None:
            return {answer: key for key, answer in keyed(card)}[word], word
        bands = look.question.bands
        ends = (bands.limits[0] - 1, *bands.limits, 2 * bands.limits[-1])
        rank = bands.words.index(word)
        low = max(ends[rank], 0.0) if bands.unit == "ohm" else ends[rank]
        return f"{(low + ends[rank + 1]) / 2:.6g}", word


def script(of: MachineProblem, fault: str, complaint: str) -> tuple[list[str], Case]:
    """What a person would type from complaint to proof with this fault, and the case behind it."""
    machine = Broken(of, of.problem.hypotheses.index(fault))
    case, typed = Case(of, complaint=complaint), [str(list(COMPLAINTS).index(complaint) + 1)]
    while case.status in (OPEN, PROVING):
        card = case.next_checks(1)[0]
        key, word = machine.answers(card)
        typed.append(key)
        case.record(card.id, finding_of(of, card.id, key) if card.unit else word)
        assert len(typed) < 60
    return typed, case


@dataclass
class Whole:
    """A whole case at the terminal: what was typed, the case behind it, what was printed."""

    typed: list[str]
    case: Case
    result: Result
    file: bytes


WHOLE: dict[str, Whole] = {}


def whole(of: MachineProblem, fault: str, complaint: str) -> Whole:
    """Go through a whole case, once for all tests."""
    if fault not in WHOLE:
        typed, case = script(of, fault, complaint)
        result = run("whimbrel", "--case", "one.jsonl", typed="\n".join([*typed, "", ""]))
        WHOLE[fault] = Whole(typed, case, result, Path("one.jsonl").read_bytes())
    return WHOLE[fault]


@pytest.mark.parametrize(
    ("fault", "complaint", "repair"),
    [
        ("F3:open", "feed stays stopped", "Replace the fuse: F3."),
        ("K1:welded", "check does not stop it", "Replace the relay module: K1."),
        ("D.out.trip_out:never", "feed stays stopped", "Replace the detector module: D."),
    ],
)
def test_a_case_goes_from_the_complaint_to_a_repair_that_is_proved(
    whimbrel: MachineProblem, fault: str, complaint: str, repair: str
) -> None:
    done = whole(whimbrel, fault, complaint)
    assert done.result.exit_code == 0, done.result.output
    said, case = words(done.result), done.case
    assert "CLOSED: mended, and proved by the daily test." in said
    assert f"Repair: {repair}" in said
    assert f"Complaint: {COMPLAINTS[complaint]}" in said
    assert "leaves open: the magnet, the gap to the crop" in said
    minutes = sum(each.minutes for each in done_so_far(case))
    assert f"Time by the plan: {minutes:.0f} min." in said
    Path("one.jsonl").write_bytes(done.file)
    again = Case.resume("one.jsonl", load_machine("whimbrel"))
    assert again.status == CLOSED
    assert [each.to_dict()["kind"] for each in again.entries] == [e.kind for e in case.entries]


def test_the_report_names_what_was_worked_on_in_vain(whimbrel: MachineProblem) -> None:
    case = Case(whimbrel, complaint="feed stays stopped")
    case.record("mend F3", "failed")
    case.record("mend W3", "passed")
    while case.status == PROVING and len(case.entries) < 40:
        card = case.next_checks(1)[0]
        good = next((each.word for each in card.answers if each.sound), "passed")
        case.record(card.id, good)
    assert case.status == CLOSED
    said = proof(case)
    assert said[0].startswith("Repair: Mend the wire")
    assert said[1].startswith("Worked on in vain: Replace the fuse: F3.")


def test_cautions_come_before_what_is_to_be_done_on_every_card(whimbrel: MachineProblem) -> None:
    done = whole(whimbrel, "F3:open", "feed stays stopped")
    typed, output = done.typed, done.result.output
    cards = re.split(r"^-- Card \d+ -+$", output, flags=re.MULTILINE)[1:]
    assert len(cards) == len(typed) - 1
    for card in cards:
        assert card.index("CAUTION") < card.index("DO: ")
        assert re.search(r"^! (Engine off|The rolls may turn)", card, flags=re.MULTILINE)


def test_a_module_is_offered_with_chance_and_price_before_anything(
    whimbrel: MachineProblem,
) -> None:
    output = whole(whimbrel, "D.out.trip_out:never", "feed stays stopped").result.output
    card = next(c for c in output.split("-- Card ") if "DO: Replace the detector module" in c)
    first = " ".join(card.splitlines()[1:4])
    assert re.match(r"A MODULE, REPLACED WHOLE\. Chance that it cures: [\d.]+ %\.", first)
    hour = whimbrel.checks.price_of_an_hour.nominal
    said = f"Price of parts: 740, where an hour of machine and person costs {hour:g}."
    assert said in first


def test_a_daily_test_that_failed_is_asked_at_which_step(
    whimbrel: MachineProblem, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from tripmargin.cli import case_talk

    for typed, step in ((["99", "two", "2"], 2), ([""], None)):
        said = iter(typed)
        monkeypatch.setattr(case_talk, "read", lambda said=said: next(said))
        talk = case_talk.Talk(Case(whimbrel), "again")
        case_talk._record(talk, "prove again", "failed")
        assert talk.case.entries[-1].get("failed_at") == step
        assert next(said, None) is None
    asked = capsys.readouterr().out
    assert f"At which step did it fail, 1 to {whimbrel.daily_steps}?" in asked
    assert f"Type a number from 1 to {whimbrel.daily_steps}" in asked


def test_only_the_rest_of_the_way_is_told(whimbrel: MachineProblem) -> None:
    case = Case(whimbrel)
    whole = way_to(whimbrel, case.situation, "held")
    case.record("armed: trip latched", "on")
    rest = way_to(whimbrel, case.situation, "held")
    assert rest == whole[-len(rest) :]
    assert 0 < len(rest) < len(whole)
    assert way_to(whimbrel, case.situation, "armed") == ()


def test_the_daily_test_is_told_step_by_step_with_what_must_show(whimbrel: MachineProblem) -> None:
    steps = daily_test(whimbrel)
    path = next(each for each in whimbrel.checks.paths if each.name == whimbrel.checks.daily)
    assert len(steps) == len(path.states) + len(path.looks)
    assert "Key on" in steps[0].do
    feeding = steps[path.states.index("feeding")]
    assert feeding.running
    assert "rolls forward" in feeding.shows


def test_every_card_has_an_id_of_its_own(whimbrel: MachineProblem) -> None:
    ids = [each.question.id for each in whimbrel.looks]
    assert len(set(ids)) == len(ids)
    # A look by hand that the file lists, and where the plunger stands:
    pair = ("at rest: plunger", "at rest: plunger seen")
    assert [whimbrel.questions[name].kind for name in pair] == ["plunger", "movement"]


# --- keys --------------------------------------------------------------------------------------


def test_undo_and_redo_go_back_and_forth_and_stay_in_the_file() -> None:
    run("whimbrel", "--case", "one.jsonl", typed=f"{STAYS_STOPPED}\n1\nu\nr\nu\nq\n")
    lines = [json.loads(line) for line in Path("one.jsonl").read_text().splitlines()]
    assert [line["kind"] for line in lines[1:]] == ["finding", "finding", "undo", "undo", "undo"]
    case = Case.resume("one.jsonl")
    assert [entry["word"] for entry in case.entries] == ["feed stays stopped"]


def test_there_is_nothing_to_take_back_or_bring_back_at_first() -> None:
    said = words(run("whimbrel", typed="s\nu\nr\nq\n"))
    assert "There is nothing to take back." in said
    assert "There is nothing to bring back." in said


def test_why_lists_everything_that_is_believed(whimbrel: MachineProblem) -> None:
    said = words(run("whimbrel", typed=f"{STAYS_STOPPED}\nw\nq\n\n")).split(
        "-- Everything that it may be "
    )[1]
    case = Case(whimbrel, complaint="feed stays stopped")
    texts = {each.id: each.said for each in whimbrel.hypotheses}
    for name, chance in case.beliefs().items():
        if chance >= 0.001:
            assert texts[name] in said
    assert said.count("% frame: ground joint corroded") == 1  # at all its strengths together
    for reason in case.next_checks(2)[0].because:
        assert reason in said


def test_another_card_can_be_picked_or_skipped_to(whimbrel: MachineProblem) -> None:
    case = Case(whimbrel, complaint="feed stays stopped")
    first, second, third = case.next_checks(3)
    for keys, card in (("s\n", second), ("o\n3\n", third), ("o\n\n", first)):
        typed = f"{STAYS_STOPPED}\n{keys}c\nq\n"
        run("whimbrel", "--case", f"{card.id[:3]}{len(keys)}.jsonl", typed=typed)
        again = Case.resume(f"{card.id[:3]}{len(keys)}.jsonl")
        assert [(e["check"], e["word"]) for e in again.entries[1:]] == [(card.id, "can't tell")]


def test_the_last_card_skipped_is_followed_by_the_first_again(whimbrel: MachineProblem) -> None:
    said = words(run("whimbrel", typed=f"{STAYS_STOPPED}\n" + "s\n" * 25 + "q\n\n"))
    assert "the first one comes again" in said


def test_a_case_is_handed_over_only_with_a_reason() -> None:
    typed = f"{STAYS_STOPPED}\nh\n\nh\nThe loom is burnt through.\n\n"
    result = run("whimbrel", "--case", "one.jsonl", typed=typed)
    said = words(result)
    assert "HANDED OVER: The loom is burnt through." in said
    assert "No repair is proved. Do not take the machine as protected." in said
    case = Case.resume("one.jsonl")
    assert case.status == HANDED_OVER
    assert len(case.entries) == 2


def test_the_last_entry_can_be_taken_back_after_the_end(whimbrel: MachineProblem) -> None:
    typed = f"{STAYS_STOPPED}\nh\nLate.\nu\nq\n"
    assert run("whimbrel", "--case", "one.jsonl", typed=typed).exit_code == 0
    assert Case.resume("one.jsonl").status == OPEN


def test_an_answer_that_is_none_is_asked_again(whimbrel: MachineProblem) -> None:
    result = run("whimbrel", "--case", "one.jsonl", typed=f"0\n{STAYS_STOPPED}\nz\n\n9\nc\nq\n")
    assert "Type a number from 1 to" in words(result)
    assert words(result).count("Type one of the keys in front of the answers.") == 3
    assert len(Case.resume("one.jsonl").entries) == 2


def test_what_no_answer_fits_is_asked_for_in_words_and_kept() -> None:
    typed = f"{STAYS_STOPPED}\ne\nIt glows green.\ne\n\nh\nNo idea.\n\n"
    said = words(run("whimbrel", "--case", "one.jsonl", typed=typed))
    assert "saw something else: It glows green." in said.split("-- Report")[1]
    entries = Case.resume("one.jsonl").entries
    assert [entry.get("note") for entry in entries] == [None, "It glows green.", None, None]


def test_answers_that_fit_nothing_end_in_a_hand_over_and_are_said_to_do_so() -> None:
    typed = f"{STAYS_STOPPED}\n" + "e\n\n" * 3 + "1\nIt fits nothing.\n\n"
    said = words(run("whimbrel", "--case", "one.jsonl", typed=typed))
    assert "The answers fit nothing that is listed for this machine." in said
    assert "DO: Hand the machine over" in said
    assert "HANDED OVER: It fits nothing." in said


def test_print_saves_a_page_with_card_bars_and_what_was_done() -> None:
    run("whimbrel", typed=f"{STAYS_STOPPED}\n1\np\nq\n\n")
    (page,) = Path().glob("case-whimbrel-*.html")
    text = page.read_text(encoding="utf-8")
    assert "<svg" in text
    assert "CAUTION" in text
    assert "What was done" in text
    assert COMPLAINTS["feed stays stopped"] in text
    assert "http://" not in re.sub(r'xmlns="[^"]*"', "", text)


# --- nothing entered is lost -------------------------------------------------------------------


def test_quitting_offers_to_keep_what_was_entered() -> None:
    result = run("whimbrel", typed=f"{STAYS_STOPPED}\nq\nmine.jsonl\n")
    assert result.exit_code == 0
    assert "The case is kept in mine.jsonl" in words(result)
    assert len(Case.resume("mine.jsonl").entries) == 1


def test_a_name_that_is_taken_is_asked_again_and_nothing_is_overwritten() -> None:
    Path("mine.jsonl").write_text("something else", encoding="utf-8")
    run("whimbrel", typed=f"{STAYS_STOPPED}\nq\nmine.jsonl\n\n")
    assert Path("mine.jsonl").read_text(encoding="utf-8") == "something else"
    assert len(Case.resume(kept()).entries) == 1


def test_the_end_of_the_input_keeps_the_case_and_says_where() -> None:
    result = run("whimbrel", typed=f"{STAYS_STOPPED}\n1\n")
    assert result.exit_code == 1
    assert f"The case is kept in {kept()}" in words(result)
    assert f'tripmargin find-fault whimbrel --case "{kept()}"' in words(result)
    assert len(Case.resume(kept()).entries) == 2


def test_ctrl_c_keeps_the_case_and_says_where(monkeypatch: pytest.MonkeyPatch) -> None:
    lines = iter([STAYS_STOPPED, "1"])

    def typed() -> str:
        try:
            return next(lines)
        except StopIteration:
            raise KeyboardInterrupt from None

    monkeypatch.setattr("builtins.input", typed)
    result = run("whimbrel")
    assert result.exit_code == 130
    assert f"The case is kept in {kept()}" in words(result)
    assert len(Case.resume(kept()).entries) == 2


@pytest.mark.parametrize("name", ["SIGHUP", "SIGTERM"])
def test_a_broken_connection_keeps_the_case_as_ctrl_c_does(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    if not hasattr(signal, name):
        pytest.skip(f"this system knows no {name}")
    before = signal.getsignal(getattr(signal, name))
    lines = iter([STAYS_STOPPED])

    def typed() -> str:
        for line in lines:
            return line
        signal.raise_signal(getattr(signal, name))
        raise AssertionError("the signal came to nothing")

    monkeypatch.setattr("builtins.input", typed)
    assert run("whimbrel").exit_code == 130
    assert len(Case.resume(kept()).entries) == 1
    assert signal.getsignal(getattr(signal, name)) == before


def test_a_terminal_that_went_away_keeps_the_case(monkeypatch: pytest.MonkeyPatch) -> None:
    lines = iter([STAYS_STOPPED])

    def typed() -> str:
        for line in lines:
            return line
        raise OSError(5, "Input/output error")

    monkeypatch.setattr("builtins.input", typed)
    assert run("whimbrel").exit_code == 1
    assert len(Case.resume(kept()).entries) == 1


def test_ctrl_c_while_the_next_card_is_chosen_keeps_the_case(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Case, "next_checks", interrupted)
    result = run("whimbrel", typed=f"{STAYS_STOPPED}\n")
    assert result.exit_code == 130
    assert len(Case.resume(kept()).entries) == 1


def test_where_no_file_can_be_written_the_case_is_at_least_shown(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def refused(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("tripmargin.faultfinding.CaseFile.save_as", refused)
    result = run("whimbrel", typed=f"{STAYS_STOPPED}\n")
    assert "No space left on device" in words(result)
    assert '"word": "feed stays stopped"' in result.output


def test_leaving_before_anything_was_entered_writes_nothing(here: Path) -> None:
    result = run("whimbrel", typed="")
    assert result.exit_code == 1
    assert "Nothing was entered, so nothing was written." in words(result)
    assert list(here.iterdir()) == []


# --- going on with a case ----------------------------------------------------------------------


def own_machine(folder: Path, text: str | None = None) -> Path:
    """Whimbrel's file in a folder of one's own, its type sheet beside it."""
    for name in ("whimbrel.toml", "type-self-propelled.toml"):
        shutil.copy(demo_path("whimbrel").parent / name, folder / name)
    if text is not None:
        (folder / "type-self-propelled.toml").write_text(text, encoding="utf-8")
    return folder / "whimbrel.toml"


def without_a_look(folder: Path) -> Path:
    """The same machine, whose file does not list the look at one fuse any more."""
    sheet = (demo_path("whimbrel").parent / "type-self-propelled.toml").read_text(encoding="utf-8")
    text, count = FUSE_LOOK.subn("", sheet)
    assert count == 1
    return own_machine(folder, text)


def changed_case(here: Path) -> Path:
    """A case with a finding for a look that the machine's file then loses."""
    machine = own_machine(here)
    run(str(machine), "--case", "one.jsonl", "--found", "at rest: fuse F3=gone")
    return without_a_look(here)


def test_a_case_goes_on_where_it_was_left() -> None:
    run("whimbrel", "--case", "one.jsonl", typed=f"{STAYS_STOPPED}\n1\nq\n")
    said = words(run("whimbrel", "--case", "one.jsonl", typed="q\n"))
    assert "-- So far -" in said
    assert f"complaint: {COMPLAINTS['feed stays stopped']}" in said
    assert "What does the operator say?" not in said
    assert len(Case.resume("one.jsonl").entries) == 2


@pytest.mark.parametrize(
    ("answer", "aside"), [("1", 0), ("as it was", 0), ("2", 1), ("as it is", 1)]
)
def test_a_changed_machine_is_told_and_either_can_be_chosen(
    here: Path, answer: str, aside: int
) -> None:
    machine = changed_case(here)
    if answer.isdecimal():
        said = words(run(str(machine), "--case", "one.jsonl", typed=f"x\n{answer}\nq\n"))
        assert "changed since the case was begun" in said
        assert "fuse F3" in said
        assert "Type 1 or 2." in said
    else:
        said = words(run(str(machine), "--case", "one.jsonl", "--keep", answer, typed="q\n"))
        assert "changed since the case was begun" not in said
    assert said.count("Set aside, as this machine has no such look") == aside
    assert "= gone" in said or aside == 0
    assert '"word": "gone"' in Path("one.jsonl").read_text(encoding="utf-8")


def test_without_questions_a_changed_machine_is_refused_until_told_which(here: Path) -> None:
    machine = changed_case(here)
    before = Path("one.jsonl").read_bytes()
    result = run(str(machine), "--case", "one.jsonl", "--json")
    assert result.exit_code == 2
    assert "--keep" in result.output
    assert "fuse F3" in result.output
    assert Path("one.jsonl").read_bytes() == before
    told = json.loads(
        run(str(machine), "--case", "one.jsonl", "--json", "--keep", "as it is").stdout
    )
    assert [each["word"] for each in told["set_aside"]] == ["gone"]


def test_a_case_of_another_machine_is_refused() -> None:
    run("whimbrel", "--case", "one.jsonl", "--complaint", "dead")
    result = run("dunlin", "--case", "one.jsonl", typed="q\n")
    assert result.exit_code == 2
    assert "a case of Whimbrel, not of Dunlin" in words(result)


def test_a_case_that_was_cut_in_half_goes_on_and_says_what_was_torn() -> None:
    run("whimbrel", "--case", "one.jsonl", typed=f"{STAYS_STOPPED}\n1\n1\nq\n")
    whole = Path("one.jsonl").read_bytes().rstrip(b"\n")
    Path("one.jsonl").write_bytes(whole[:-20])
    said = words(run("whimbrel", "--case", "one.jsonl", typed="c\nq\n"))
    assert re.search(r"Line 4 of the case was cut off: \{", said)
    assert Path("one.jsonl").read_bytes().startswith(whole[:-20])
    case = Case.resume("one.jsonl")
    assert [entry["word"] for entry in case.entries][-1] == "can't tell"
    told = json.loads(run("whimbrel", "--case", "one.jsonl", "--json").stdout)
    assert told["torn"].startswith("{")
    assert told["unread"][0]["line"] == 4


def test_a_file_that_is_no_case_is_left_as_it_is() -> None:
    Path("one.jsonl").write_text('{"kind": "ca', encoding="utf-8")
    result = run("whimbrel", "--case", "one.jsonl", typed="q\n")
    assert result.exit_code == 2
    assert "the head of the case is cut" in words(result)
    assert Path("one.jsonl").read_text(encoding="utf-8") == '{"kind": "ca'


# --- without questions -------------------------------------------------------------------------


def test_json_holds_where_the_case_stands_and_is_never_asked(whimbrel: MachineProblem) -> None:
    result = run(
        "whimbrel", "--complaint", "feed stays stopped", "--found", "held: trip latched=off",
        "--found", "held: volts at P2=0.2 V", "--cards", "3", "--json",
    )  # fmt: skip
    told = json.loads(result.stdout)
    case = Case(whimbrel, complaint="feed stays stopped")
    case.record("held: trip latched", "off")
    case.record("held: volts at P2", 0.2)
    assert told["status"] == OPEN
    assert told["beliefs"] == pytest.approx(case.beliefs())
    assert sum(told["beliefs"].values()) == pytest.approx(1)
    assert told["by_repair"] == pytest.approx(case.by_repair())
    assert [card["id"] for card in told["cards"]] == [card.id for card in case.next_checks(3)]
    assert [entry["kind"] for entry in told["entries"]] == ["finding"] * 3
    assert told["entries"][2]["reading"] == 0.2
    assert told["ruled_out"]
    assert (told["set_aside"], told["torn"], told["case"]) == ([], None, None)


def test_findings_are_kept_in_order_and_the_last_can_be_taken_back() -> None:
    file = ("whimbrel", "--case", "one.jsonl")
    assert run(*file, "--complaint", "dead", "--found", "held: trip latched=off").exit_code == 0
    again = run(*file, "--undo", "--found", "held: trip latched=on")
    assert again.exit_code == 0
    assert "Taken back: held: trip latched: " in again.output
    assert [e["word"] for e in Case.resume("one.jsonl").entries] == ["dead", "on"]
    assert run(*file, "--complaint", "dead").exit_code == 2


@pytest.mark.parametrize(
    ("found", "said"),
    [
        ("hold: trip latched=off", "Did you mean 'held: trip latched'?"),
        ("held: trip latched=of", "Did you mean 'off'?"),
        ("held: volts at P2=11,9", 'write "11.9"'),
        ("held: volts at P2=2 kohm", "not of voltage"),
        ("held: volts at P2=OL", "not a number with a unit"),
        ("at rest: hold winding=-3", "a resistance below zero"),
        ("held: trip latched", 'write "ID=WORD"'),
        ("complaint=deaf", "Did you mean 'dead'?"),
        ("mend F3=mended", "passed, failed"),
        ("armed: trip latched=on", "looked at already"),
    ],
)
def test_a_bad_finding_is_refused_and_nothing_is_recorded(found: str, said: str) -> None:
    good = ("--found", "armed: trip latched=on")
    result = run("whimbrel", "--case", "one.jsonl", *good, "--found", found)
    assert result.exit_code == 2
    assert said in words(result)
    assert not Path("one.jsonl").exists()
    run("whimbrel", "--case", "one.jsonl", "--complaint", "dead")
    before = Path("one.jsonl").read_bytes()
    assert run("whimbrel", "--case", "one.jsonl", *good, "--found", found).exit_code == 2
    assert Path("one.jsonl").read_bytes() == before


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--undo",), "add --case"),
        (("--keep", "as it is"), "add --case"),
        (("--case", "nowhere/one.jsonl"), "no folder nowhere"),
        (("--case", "none.jsonl", "--undo"), "no case none.jsonl yet"),
        (("--cards", "0"), "1<=x<=20"),
    ],
)
def test_options_that_cannot_be_are_refused_before_the_work(
    options: tuple[str, ...], said: str
) -> None:
    result = run("whimbrel", *options)
    assert result.exit_code == 2
    assert said in words(result)


@pytest.mark.parametrize(
    ("text", "taken"),
    [
        ("11.9", 11.9),
        ("11.9 V", 11.9),
        ("11.9v", 11.9),
        ("-0.02", -0.02),
        ("350 mV", 0.35),
        (".5", 0.5),
        ("Can't tell", "can't tell"),
    ],
)
def test_volts_are_read_with_or_without_a_unit(
    whimbrel: MachineProblem, text: str, taken: float | str
) -> None:
    assert finding_of(whimbrel, "held: volts at P2", text) == (
        taken if isinstance(taken, str) else pytest.approx(taken)
    )


@pytest.mark.parametrize(
    ("text", "ohms"), [("18", 18), ("2.4 kohm", 2400), ("2.4k", 2400), ("1.5 M", 1.5e6)]
)
def test_ohms_are_read_with_or_without_a_unit(
    whimbrel: MachineProblem, text: str, ohms: float
) -> None:
    assert finding_of(whimbrel, "at rest: hold winding", text) == pytest.approx(ohms)


def test_overload_is_the_highest_range_of_ohms_and_no_reading_of_volts(
    whimbrel: MachineProblem,
) -> None:
    bands = whimbrel.questions["at rest: hold winding"].bands
    assert bands is not None
    assert finding_of(whimbrel, "at rest: hold winding", "OL") == bands.words[-1]
    with pytest.raises(QuantityError):
        finding_of(whimbrel, "held: volts at P2", "OL")


def test_a_repair_that_passed_but_leaves_a_fault_open_is_not_called_proved() -> None:
    found = ("--complaint", "metal went through", "--found", "mend pawl clearance=passed")
    said = words(run("whimbrel", *found))
    told = json.loads(run("whimbrel", *found, "--json").stdout)
    assert told["status"] == PROVING
    assert 0.01 < told["chance_of_fault_left"] < 0.5
    assert "it does not show every fault, so the machine is not proved yet" in said
    assert "It must come down to 1 %." in said
    assert "CLOSED" not in said


def test_a_daily_test_that_passed_beside_the_point_is_said_to_be_so() -> None:
    found = ("--complaint", "stops on nothing", "--found", "mend X1=passed")
    said = words(run("whimbrel", *found))
    assert json.loads(run("whimbrel", *found, "--json").stdout)["status"] == OPEN
    assert "it does not show the faults that are likeliest here" in said
    assert "the search goes on" in said


@pytest.mark.parametrize("suffix", ["html", "svg", "png", "csv"])
def test_the_page_is_saved_without_questions(suffix: str) -> None:
    result = run("whimbrel", "--complaint", "dead", "--save", f"page.{suffix}")
    assert f"Saved: page.{suffix}" in result.output
    assert Path(f"page.{suffix}").stat().st_size > 200


def test_a_machine_without_wiring_is_told_what_to_add(here: Path) -> None:
    path = here / "bare.toml"
    path.write_text('format = 1\n[machine]\nname = "Bare"\n', encoding="utf-8")
    result = run(str(path), "--cards", "1")
    assert result.exit_code == 2
    assert "Add [circuit], the wiring" in words(result)
    assert "Add [checks], what can be looked at" in words(result)


# --- safety ------------------------------------------------------------------------------------

LOCKED_OUT = re.compile(
    r"lock(ed|ing)? (it |them |the \w+ )?out|lock (it|the pawls|the plunger)|bypass|bridg|jumper"
    r"|overrid|disabl|defeat",
    re.IGNORECASE,
)


def suggestions(texts: list[str]) -> list[str]:
    """Sentences that suggest running locked out; the one that forbids it is none."""
    sentences = [each for text in texts for each in re.split(r"(?<=[.:;])\s", text)]
    return [each for each in sentences if LOCKED_OUT.search(each) and "Never" not in each]


def test_the_search_for_such_words_can_find_one() -> None:
    assert suggestions(["Lock the pawls, then run it.", "Never run it locked out."]) != []


@pytest.mark.parametrize("name", DEMO_MACHINES)
def test_no_card_of_a_demo_machine_suggests_to_run_locked_out(name: str) -> None:
    from tripmargin.faultfinding.suspects.by_hand import BY_HAND
    from tripmargin.faultfinding.suspects.looks import TRIALS
    from tripmargin.faultfinding.suspects.repairs import USUAL
    from tripmargin.faultfinding.suspects.states import machine_states

    machine = load_machine(name)
    assert machine.circuit is not None
    assert machine.checks is not None
    states = machine_states(machine, machine.checks)
    texts = [way for state in states for way in state.way]
    texts += [f"{each.name} {each.do} {each.place}" for each in machine.checks.looks]
    texts += [each.do for each in BY_HAND.values()] + [each.do for each in USUAL.values()]
    texts += [each.do or "" for each in machine.checks.repairs] + list(TRIALS.values())
    assert suggestions(texts) == []
    steps = {step.name: step for step in machine.circuit.steps}
    for state in states:
        for step in state.steps:
            locked = dict(steps[step].switches).get(machine.circuit.lock) == "on"
            assert not (locked and steps[step].engine), (state.name, step)


def test_no_whole_case_says_a_word_for_it(whimbrel: MachineProblem) -> None:
    texts = [f"{each.do} {each.place}" for each in whimbrel.questions.values()]
    texts += [f"{each.do} {each.place}" for each in whimbrel.repairs]
    said = words(whole(whimbrel, "K1:welded", "check does not stop it").result)
    assert "Never run the feed with the protection locked out." in said
    assert suggestions([*texts, said]) == []


def test_a_machine_that_was_read_is_kept_for_the_next_start(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for value, folder in (("off", None), (str(tmp_path / "here"), tmp_path / "here")):
        monkeypatch.setenv("TRIPMARGIN_CACHE", value)
        assert kept_folder() == folder
    monkeypatch.delenv("TRIPMARGIN_CACHE")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert kept_folder() == tmp_path / "tripmargin"
