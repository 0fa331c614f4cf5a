"""Practising alone in the browser, without a browser: the whole path, and what must not happen."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest

from tests.web.drills.playing import SEED, begun, moved, problem, seen_on, sent, text_of
from tripmargin import drills
from tripmargin.records.store.models import PracticeMove, PracticeResult
from tripmargin.web.whats_wrong import keeper

Client = Callable[..., Any]


def best_of(seed: int = SEED) -> drills.Drill:
    return drills.drill(problem(), seed=seed)


def test_a_fault_is_found_on_the_best_route_with_full_points(browser_as: Client) -> None:
    client, best = browser_as(1), best_of()
    practice = begun(client)
    base, hidden = f"/practise/{practice.uid}/", best.fault
    page = text_of(client.get(base))
    assert "Nothing lights and nothing moves." in page
    assert f"seed {SEED}" in page
    assert page.index("Engine off, key out") < page.index('name="move"')
    for move in best.best.moves:
        assert hidden.id not in page
        assert hidden.text not in page
        page = text_of(moved(client, base, **sent(move)))
    assert "100.0</strong> points of 100" in page
    assert hidden.text in page
    assert "Nothing went wrong" in page
    kept = PracticeResult.objects.get(practice=practice)
    assert kept.points == 100.0
    assert client.get(base).status_code == 200  # the end stays to be read


def test_the_page_never_holds_what_is_hidden(browser_as: Client) -> None:
    """Whatever is hidden, a page before the end is made of the same choices."""
    client, pages = browser_as(1), []
    for seed in range(12):
        practice, drill = begun(client, seed=seed), best_of(seed)
        base = f"/practise/{practice.uid}/"
        one = client.get(base).content.decode()
        two = text_of(moved(client, base, "hint"))
        for page in (one, two):
            assert drill.fault.id not in page
            assert drill.fault.text not in page
        cut = one.index("See and hear")
        pages.append(one[cut : one.index("Done so far")].replace(str(practice.uid), ""))
    assert len(set(pages)) == 1


def test_the_points_are_those_of_the_command_line(
    browser_as: Client, tmp_path: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    from click.testing import CliRunner

    from tripmargin.cli.main import main

    client = browser_as(1)
    practice = begun(client)
    base = f"/practise/{practice.uid}/"
    typed = [
        ("go:tractor's key on", "go tractor's key on"),
        ("mend:mend X1", "mend X1"),  # refused: the key is on
        ("go:standing", "go standing"),
        ("hint", "hint"),
        ("mend:mend D", "mend D"),  # the wrong module
        ("mend:mend X1", "mend X1"),
        ("test", "test"),
        ("done", "done"),
    ]
    for move, _ in typed:
        page = text_of(moved(client, base, move))
    assert "points of 100" in page
    told = tmp_path / "moves.txt"
    told.write_text("\n".join(line for _, line in typed) + "\n")
    said = ["drill", "dunlin", "--seed", str(SEED), "--answers", str(told), "--json"]
    result = CliRunner().invoke(main, said)
    assert result.exit_code == 0, result.output
    theirs = json.loads(result.stdout)
    mine = json.loads(client.get(f"{base}result.json").content)
    assert mine["score"]["points"] == pytest.approx(theirs["score"]["points"], rel=1e-12)
    assert mine["moves"] == theirs["moves"]
    assert mine["score"]["points"] < 70
    # and the file is one that the command line plays again
    kept = tmp_path / "result.json"
    kept.write_text(json.dumps(mine))
    assert drills.replay(problem(), drills.read_result(kept)).score().points == pytest.approx(
        mine["score"]["points"], rel=1e-12
    )


def test_an_unsafe_move_is_refused_says_why_and_costs(browser_as: Client) -> None:
    client, best = browser_as(1), best_of()
    practice = begun(client)
    base = f"/practise/{practice.uid}/"
    moved(client, base, "go:tractor's key on")
    page = text_of(moved(client, base, "look:standing: fuse F1"))
    assert "Not done: not safe." in page
    assert "Block the feed rolls before hands go near" in page
    assert "It counts in the score." in page
    moved(client, base, "go:standing")
    for move in best.best.moves:
        page = text_of(moved(client, base, **sent(move)))
    kept = PracticeResult.objects.get(practice=practice)
    assert kept.unsafe == 1
    assert kept.points <= 70
    assert "Safety comes first" in page


def test_the_caution_stays_open_in_every_state(browser_as: Client) -> None:
    client = browser_as(1)
    base = f"/practise/{begun(client).uid}/"
    shut, wide = '<details class="caution">', '<details class="caution" open>'
    assert wide in text_of(client.get(base))
    standing = text_of(moved(client, base, "look:standing: fuse F1"))
    assert wide in standing  # hands are at springs and wiring now
    assert shut not in standing
    for state in ("tractor's key on", "box armed", "rolls turning"):
        assert wide in text_of(moved(client, base, f"go:{state}"))
        seen = text_of(moved(client, base, "hint"))  # read before, and the key is still on
        assert wide in seen
        assert shut not in seen


def test_the_score_is_told_in_words_and_handing_over_with_its_minutes(browser_as: Client) -> None:
    client = browser_as(1)
    practice = begun(client)
    base = f"/practise/{practice.uid}/"
    moved(client, base, "go:tractor's key on")
    moved(client, base, "look:standing: fuse F1")
    page = text_of(moved(client, base, "done"))
    costs = re.search(r"costs (\d+) min, and leaves 10 points of 100 at most", page)
    assert costs is not None
    page = text_of(moved(client, base, "hand over"))
    kept = PracticeResult.objects.get(practice=practice)
    assert kept.points == pytest.approx(10 * 0.7**2)
    assert "4.9</strong> points of 100" in page
    assert "Look, in “standing”: fuse F1. The machine is in" in page
    assert "Declare it done. No daily test was made since." in page
    assert "look standing: fuse F1" not in page
    assert f"Handing over takes {costs[1]} min." in page
    last = kept.kept["moves"][-1]
    assert f"{last['minutes']:.0f}" == costs[1]
    # what is kept is as it was: no part without points, and the words that are typed
    assert [part["name"] for part in kept.kept["score"]["parts"]] == [
        "handed over", "unsafe move", "unsafe move"
    ]  # fmt: skip
    assert kept.kept["score"]["parts"][1]["why"].startswith("look standing: fuse F1. ")


def test_a_look_of_another_state_is_told_and_costs_nothing(browser_as: Client) -> None:
    client = browser_as(1)
    practice = begun(client)
    base = f"/practise/{practice.uid}/"
    answer = moved(client, base, "look:box armed: trip latched")
    assert answer.status_code == 422
    assert "First: go box armed" in text_of(answer)
    assert not practice.moves.exists()
    for nonsense in ("", "look:", "fly:away", "mend:mend no such part", "card"):
        assert moved(client, base, nonsense).status_code == 422
    assert not practice.moves.exists()


def test_a_move_sent_twice_counts_once(browser_as: Client) -> None:
    client = browser_as(1)
    practice = begun(client)
    base = f"/practise/{practice.uid}/"
    said = {"move": "hint", "uid": str(uuid4()), "seen": "0"}
    for _ in range(3):
        assert client.post(f"{base}move/", said).status_code == 302
    assert PracticeMove.objects.filter(practice=practice).count() == 1


def test_a_page_that_is_older_than_the_last_move_makes_none(browser_as: Client) -> None:
    client = browser_as(1)
    practice = begun(client)
    base = f"/practise/{practice.uid}/"
    moved(client, base, "go:box armed")
    old = {"move": "mend:mend X1", "uid": str(uuid4()), "seen": "0"}
    page = text_of(client.post(f"{base}move/", old, follow=True))
    assert "Another page made a move meanwhile" in page
    assert practice.moves.count() == 1


def test_a_card_that_was_asked_for_is_followed_with_one_touch(browser_as: Client) -> None:
    client, best = browser_as(1), best_of()
    practice = begun(client)
    base = f"/practise/{practice.uid}/"
    page = text_of(moved(client, base, "hint"))
    assert "Do what the card says" in page
    moved(client, base, "card")
    made = [(move.do, move.what) for move in practice.moves.order_by("number")][1:]
    assert made == [(m.do, m.what) for m in best.best.moves[: len(made)]]
    assert made[-1][0] == "look"


def test_a_drill_goes_on_after_the_server_was_started_anew(
    browser_as: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = browser_as(1)
    practice = begun(client)
    base = f"/practise/{practice.uid}/"
    moved(client, base, "go:box armed")
    page = text_of(moved(client, base, "look:box armed: trip latched"))
    # another process knows nothing of it: all comes from the records
    again = text_of(browser_as(1).get(base))
    assert seen_on(again) == "2"
    assert again.split('id="now"')[1].count("box armed") == page.split('id="now"')[1].count(
        "box armed"
    )


def test_a_page_never_waits_for_the_wiring(
    browser_as: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    import threading

    go_on = threading.Event()
    of = problem()

    def slow(machine: Any) -> Any:
        go_on.wait(60)
        return of

    mine = keeper.Keeper(slow)
    monkeypatch.setattr(keeper, "_keeper", lambda: mine)
    monkeypatch.setattr("tripmargin.web.drills.showing.PATIENCE", 0.01)
    client = browser_as(1)
    practice = begun(client)
    base = f"/practise/{practice.uid}/"
    page = text_of(client.get(base))
    assert "Reading the wiring" in page
    assert f'hx-get="{base}reading/"' in page
    said = {"move": "go:box armed", "uid": str(uuid4()), "seen": "0"}
    kept = client.post(f"{base}move/", said)
    assert kept.status_code == 503
    assert "go:box armed" in text_of(kept)
    assert "HX-Refresh" not in client.get(f"{base}reading/").headers
    go_on.set()
    assert mine.ask(problem().machine).done.wait(10)
    assert client.get(f"{base}reading/").headers["HX-Refresh"] == "true"
    assert client.post(f"{base}move/", said).status_code == 302
    assert practice.moves.count() == 1


def test_somebody_elses_practice_is_not_found(browser_as: Client) -> None:
    practice = begun(browser_as(1, "Ann"))
    other = browser_as(4, "Bo")
    base = f"/practise/{practice.uid}/"
    for part in ("", "reading/", "wiring/", "result.json"):
        assert other.get(f"{base}{part}").status_code == 404
    for part in ("move/", "again/", "next/"):
        assert other.post(f"{base}{part}", {"move": "done"}).status_code == 404


def test_the_wiring_that_is_shown_is_that_of_a_sound_machine(browser_as: Client) -> None:
    client = browser_as(1)
    pages = []
    for seed in (SEED, 3):
        practice = begun(client, seed=seed)
        base = f"/practise/{practice.uid}/"
        moved(client, base, "go:box armed")
        page = client.get(f"{base}wiring/").content.decode()
        pages.append(page[page.index("<figure>") : page.index("</figure>")])
    assert pages[0] == pages[1]
    assert "Different from a sound machine" not in pages[0]
