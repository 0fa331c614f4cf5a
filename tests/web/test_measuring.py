"""Test passes in the browser: the piece to pass, its answer, what is learned, and keeping it."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from html import unescape
from typing import Any
from uuid import uuid4

import pytest
from django.utils import timezone

from tests.records.standing_help import new_machine, write
from tests.records.test_findings import PASS, STOP, TRIP
from tripmargin.ground.cautions import PASSING
from tripmargin.ground.units import shown
from tripmargin.machine.ageing import aged
from tripmargin.recordings import RecordingError
from tripmargin.records.keeping.machines import add_demo_machine, machine_of
from tripmargin.records.standing.findings import findings_of
from tripmargin.records.store.models import Entry, Machine
from tripmargin.web.machines.shown import Shown
from tripmargin.web.measuring import learning, proving

Client = Callable[..., Any]


@pytest.fixture
def curlew(sqlite_records: str) -> Machine:
    return add_demo_machine("curlew", who_name="Ann")


def ago(**how: float) -> Any:
    return timezone.now() - timedelta(**how)


def at(machine: Machine, more: str = "") -> str:
    return f"/machines/{machine.uid}/measure/{more}"


def words(answer: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", unescape(answer.content.decode())))


def hidden(page: str) -> dict[str, str]:
    """What the card's form sends besides its two buttons."""
    form = page.partition('class="answer-pass"')[2].partition("</form>")[0]
    return {
        name: unescape(value)
        for name, value in re.findall(r'name="([^"]+)" value="([^"]*)"', form)
        if name != "v.caught"
    }


def learned(machine: Machine) -> learning.Learned:
    return learning.Asked.of(machine).learned()


def test_cautions_first_then_one_piece_to_pass(
    curlew: Machine, browser_as: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Another test of this process may have asked the same of the same machine.
    monkeypatch.setattr(learning, "_KEPT", Shown(most=60))
    client = browser_as(2)
    page = client.get(at(curlew)).content.decode()
    assert unescape(page).index(PASSING[:60]) < page.index('id="learned"')
    assert f'hx-get="{at(curlew, "learned/")}"' in page  # it takes seconds: the page comes first
    whole = client.get(at(curlew, "learned/"))
    one = learned(curlew).next_piece
    assert one is not None
    cut = machine_of(curlew.versions.get()).feed
    assert cut is not None
    said = words(whole)
    assert (
        f"{one.piece.name} , {shown(abs(one.x), 'length')} left of the middle of the roll" in said
    )
    assert f"{shown(one.height, 'length')} above the lower front roll" in said
    assert "(that is cut " in said
    # From now on it is there at once.
    assert 'id="next"' in client.get(at(curlew)).content.decode()
    part = client.get(at(curlew, "learned/"), headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part
    assert part.count("<svg") == 1
    for text in (page, whole.content.decode(), part):
        assert " style=" not in text
        assert "javascript:" not in text


@pytest.mark.parametrize("said", ["yes", "no"])
def test_an_answer_is_an_entry_and_the_next_piece_comes(
    curlew: Machine, browser_as: Client, said: str
) -> None:
    client = browser_as(2)
    sent = hidden(client.get(at(curlew, "learned/")).content.decode())
    one = learned(curlew).next_piece
    assert one is not None
    address = f"/machines/{curlew.uid}/log/new/test-pass/"
    answer = client.post(address, {**sent, "v.caught": said})
    assert answer.status_code == 302
    assert answer.headers["Location"] == f"{at(curlew)}#next"
    entry = Entry.objects.get()
    assert entry.kind == "test pass"
    assert entry.values == {
        "piece": one.piece.name,
        "across_m": pytest.approx(one.x, abs=1e-6),
        "height_m": pytest.approx(one.height, abs=1e-6),
        "speed_m_s": pytest.approx(one.speed, rel=1e-6),
        "caught": said == "yes",
    }
    client.post(address, {**sent, "v.caught": said})  # the same form once more is the same entry
    assert Entry.objects.count() == 1
    script = client.post(
        address,
        {**sent, "uid": str(uuid4()), "v.caught": said},
        headers={"Accept": "application/json"},
    )
    assert script.json() == {"kept": f"{at(curlew)}#next"}
    after = client.get(at(curlew, "learned/"))
    assert "From 2 test passes in the log" in words(after)
    assert f'href="/entries/{entry.uid}/"' in after.content.decode()


def test_in_us_units_the_card_sends_what_it_shows(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    client.post("/you/units/", {"units": "us"})
    sent = hidden(client.get(at(curlew, "learned/")).content.decode())
    assert float(sent["v.across_m"]) == pytest.approx(-0.163 / 0.0254, abs=1e-4)
    client.post(f"/machines/{curlew.uid}/log/new/test-pass/", {**sent, "v.caught": "yes"})
    assert Entry.objects.get().values["across_m"] == pytest.approx(-0.163, abs=1e-6)


def test_another_piece_is_entered_by_hand_with_commas_mended(
    curlew: Machine, browser_as: Client
) -> None:
    client = browser_as(2)
    page = client.get(at(curlew, "learned/")).content.decode()
    (link,) = re.findall(r'href="([^"]+test-pass/\?[^"]+back=measure)"', page)
    form = client.get(unescape(link)).content.decode()
    assert 'name="back" value="measure"' in form
    assert 'value="-163"' in form
    sent = {
        "uid": str(uuid4()), "back": "measure", "v.piece": "12,5 mm ball", "v.across_m": "-100,5",
        "v.height_m": "40", "v.speed_m_s": "1.2", "v.caught": "no", "zone": "0",
    }  # fmt: skip
    address = f"/machines/{curlew.uid}/log/new/test-pass/"
    wrong = client.post(address, sent)
    assert wrong.status_code == 422
    assert 'value="12.5 mm ball" data-mend="v.piece"' in wrong.content.decode()
    assert 'value="-100.5" data-mend="v.across_m"' in wrong.content.decode()
    assert Entry.objects.count() == 0
    right = client.post(address, {**sent, "v.piece": "12.5 mm ball", "v.across_m": "-100.5"})
    assert right.headers["Location"] == f"{at(curlew)}#next"
    assert Entry.objects.get().values["across_m"] == pytest.approx(-0.1005)


def test_who_may_only_look_gets_no_buttons(curlew: Machine, browser_as: Client) -> None:
    page = browser_as(1).get(at(curlew, "learned/")).content.decode()
    assert "v.caught" not in page
    assert "test-pass" not in page
    assert at(curlew, "stop/") not in page
    write(curlew, "test pass", PASS, ago(hours=1))
    assert at(curlew, "keep/") not in browser_as(2).get(at(curlew, "learned/")).content.decode()
    assert at(curlew, "keep/") in browser_as(3).get(at(curlew, "learned/")).content.decode()


def test_what_is_learned_is_worked_out_once(
    curlew: Machine, browser_as: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(curlew, "test pass", {**PASS, "speed_m_s": 0.651}, ago(hours=1))
    calls = []
    real = learning.calibrate
    monkeypatch.setattr(
        learning, "calibrate", lambda *args, **more: calls.append(args) or real(*args, **more)  # type: ignore[func-returns-value]
    )  # fmt: skip
    for _ in range(3):
        browser_as(1).get(at(curlew, "learned/"))
    assert len(calls) == 1
    write(curlew, "test pass", {**PASS, "caught": False}, ago(minutes=1))
    browser_as(1).get(at(curlew, "learned/"))
    assert len(calls) == 2


def test_passes_stops_and_found_metal_are_learned_from_together(
    curlew: Machine, browser_as: Client
) -> None:
    write(curlew, "test pass", PASS, ago(hours=4))
    write(curlew, "stop time", STOP, ago(hours=3))
    write(curlew, "trip", TRIP, ago(hours=2))
    page = words(browser_as(3).get(at(curlew, "learned/")))
    assert "From 1 test pass, 1 timed stop and 1 trip with its metal found in the log" in page
    assert "Stop time, each tooth waited for half its pitch" in page
    assert "Found metal is taken as a steel ball of its size" in page
    made = learned(curlew).calibration
    assert made is not None
    assert made.stop_time is not None
    before = learned(curlew).before.stop_time
    assert before is not None
    assert made.stop_time.high - made.stop_time.low < before.high - before.low


def test_one_finding_that_fits_nothing_does_not_hide_the_others(
    curlew: Machine, browser_as: Client
) -> None:
    write(curlew, "test pass", PASS, ago(hours=4))
    # No ball of 2 mm trips this machine: something else did.
    write(curlew, "trip", {**TRIP, "size_m": 0.002}, ago(hours=2))
    page = words(browser_as(2).get(at(curlew, "learned/")))
    assert "cannot be learned from together" in page
    assert "could not have tripped this machine" in page
    assert "From 1 test pass in the log" in page


def test_a_file_that_does_not_say_enough_says_what_is_missing(
    sqlite_records: str, browser_as: Client
) -> None:
    machine = new_machine()
    answer = browser_as(2).get(at(machine, "learned/"))
    assert answer.status_code == 200
    assert "No piece can be chosen to pass" in words(answer)
    write(machine, "test pass", PASS, ago(hours=1))
    write(machine, "stop time", STOP, ago(hours=1))
    answer = browser_as(2).get(at(machine, "learned/"))
    assert answer.status_code == 200
    assert "Nothing can be learned of the stop" in words(answer)


def test_what_nothing_could_have_given_is_said(
    curlew: Machine, browser_as: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: Any, **__: Any) -> Any:
        raise RecordingError("No setting of the machine could have given what was measured.")

    monkeypatch.setattr(learning, "calibrate", refuse)
    write(curlew, "test pass", {**PASS, "height_m": 0.071}, ago(hours=1))
    page = words(browser_as(2).get(at(curlew, "learned/")))
    assert "No setting of the machine could have given" in page
    assert "Pass this" in page  # by the file alone


# --- keeping --------------------------------------------------------------------------------------


def enough(machine: Machine) -> None:
    """Five passes around what the file says: enough is known then."""
    for size, caught in ((8, False), (9, False), (10, True), (11, True), (10, True), (9, False)):
        piece = {"piece": f"{size} mm ball", "speed_m_s": 0.64667, "height_m": 0.05}
        write(machine, "test pass", {**PASS, **piece, "caught": caught}, ago(hours=size))


def test_kept_as_a_new_version_that_says_what_is_measured(
    curlew: Machine, browser_as: Client
) -> None:
    enough(curlew)
    write(curlew, "stop time", STOP, ago(hours=1))
    client = browser_as(3)
    page = client.get(at(curlew, "keep/"))
    made = learned(curlew).calibration
    assert made is not None
    for one in made.fields:
        assert one.path in words(page)
    key = re.findall(r'name="key" value="([^"]+)"', page.content.decode())[0]
    first = curlew.versions.get()
    assert client.post(at(curlew, "keep/"), {"key": key, "note": ""}).status_code == 422
    assert curlew.versions.count() == 1
    answer = client.post(at(curlew, "keep/"), {"key": key, "note": "passed and timed"})
    assert answer.headers["Location"] == f"/machines/{curlew.uid}/"
    new = curlew.versions.get(number=2)
    assert new.note == "passed and timed"
    loaded = machine_of(new)
    for one in made.fields:
        assert loaded.get(one.path).text == one.after.text
    found = {one.field: one for one in aged(loaded, timezone.now().date())[1]}
    assert set(found) == {one.path for one in made.fields}
    gain = found["detector.gain"]
    assert (gain.by, gain.how, gain.drift) == ("Ann", "6 test passes", None)
    assert gain.on == ago(hours=8).date()
    assert all(
        one.how == "1 timed stop" for field, one in found.items() if field.startswith("chain.")
    )
    # The file's own text stays but for those lines.
    was, now = first.text.splitlines(), new.text.splitlines()
    assert len([line for line in was if line not in now]) <= len(made.fields)
    # A second sending makes no third version, and nothing is learned twice.
    client.post(at(curlew, "keep/"), {"key": key, "note": "passed and timed"})
    assert curlew.versions.count() == 2
    assert findings_of(curlew).used == ()
    for path in (f"/machines/{curlew.uid}/file/", at(curlew, "learned/")):
        said = words(client.get(path))
        assert "Gain, detector: " in said, path
        assert "detector.gain" in said, path
        assert "+-" not in said.partition("of its inputs")[2].partition("standard deviation")[0]
        assert (
            f"measured {gain.on.isoformat()} by Ann with 6 test passes; no drift is stated" in said
        )
    page_of_nothing = words(client.get(at(curlew, "keep/")))
    assert "Nothing is learned yet." in page_of_nothing


def test_what_was_entered_meanwhile_is_looked_at_first(curlew: Machine, browser_as: Client) -> None:
    enough(curlew)
    client = browser_as(3)
    key = learning.Asked.of(curlew).key
    write(curlew, "test pass", {**PASS, "piece": "30 mm ball"}, ago(minutes=1))
    answer = client.post(at(curlew, "keep/"), {"key": key, "note": "passed"})
    assert answer.status_code == 422
    assert "Something was entered meanwhile" in words(answer)
    assert curlew.versions.count() == 1
    assert "passed</textarea>" in answer.content.decode()  # what was typed stays


def test_before_and_after_are_proved_beside_the_pages(
    curlew: Machine, browser_as: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    from tripmargin.protection import prove

    enough(curlew)
    seen: list[Any] = []

    def once(machine: Any) -> Any:
        seen.append(machine.get("detector.gain"))
        return prove(machine, cut_lengths=[0.008])

    monkeypatch.setattr(proving, "PROVER", proving.Prover(once))
    client = browser_as(1)
    first = client.get(at(curlew, "proved/"), headers={"HX-Request": "true"})
    assert "Proving the machine twice" in words(first)
    key = learning.Asked.of(curlew).key
    assert proving.PROVER.ask(key, {}).done.wait(120)
    page = client.get(at(curlew, "proved/")).content.decode()
    made = learned(curlew).calibration
    assert made is not None
    assert seen[0].text == machine_of(curlew.versions.get()).get("detector.gain").text
    assert seen[1].text == made.machine.get("detector.gain").text
    assert page.count("<dt>Smallest protected ball</dt>") == 2
    assert page.count('class="map"') == 2


def test_a_proof_that_fails_says_so_and_is_tried_again() -> None:
    def refuse(_: Any) -> Any:
        raise RuntimeError("broken")

    prover = proving.Prover(refuse)
    work = prover.ask("a", {"x": None})  # type: ignore[dict-item]
    assert work.done.wait(20)
    assert "a mistake of ours" in prover.ask("a", {}).trouble
    assert prover.ask("a", {}) is not work
