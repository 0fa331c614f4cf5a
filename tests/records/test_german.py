"""What the records say in German; what is kept stays a key and is said when it is shown."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.records.standing_help import NO_TRIP, NOW, WITH_PAWLS, ago, facts, new_machine, write
from tripmargin.ground.languages import speaking
from tripmargin.ground.languages.own_words import as_written
from tripmargin.records.kinds import KINDS, EntryError, read_values
from tripmargin.records.standing.daily_coverage import NO_FILE
from tripmargin.records.standing.due import due_of
from tripmargin.records.standing.meanings import failure_said, what_failed
from tripmargin.records.standing.stamps import how_long
from tripmargin.records.standing.state import state_of
from tripmargin.records.statistics.warning_words import span


def test_one_standing_is_read_in_two_languages(records: str) -> None:
    machine = new_machine(WITH_PAWLS)
    write(machine, "daily check", NO_TRIP, ago(hours=3))
    write(machine, "adjustment", {"gap_after_m/lower": 0.0062}, ago(days=2))
    kept = facts(machine)  # worked out in English
    with speaking("de"):
        due = [one.sentence for one in due_of(kept, NOW)]
        reasons = state_of(kept, NOW, verdict=None).reasons
    assert due[0] == (
        "Die tägliche Prüfung vom 2026-06-01 ist nicht bestanden: es hat nicht ausgelöst."
        " Seither wurde keine bestanden."
    )
    assert any(
        "Sperrklinke unten: Der Abstand blieb am 2026-05-30 bei 6,2 mm" in one for one in due
    )
    assert "Die Prüfung vom 2026-06-01 ist nicht bestanden: es hat nicht ausgelöst." in reasons
    assert "failed: it did not trip." in due_of(kept, NOW)[0].sentence


def test_what_is_kept_with_the_facts_is_the_same_in_every_language(records: str) -> None:
    values = {"tripped": True, "lamps/key on": False, "lamps/shift": False}
    with speaking("de"):
        what = what_failed(values)
        said = failure_said(what)
    assert what == "lamps or buzzer were not as expected at: key on, shift"
    # Said with the rolls, which a step shows too; what was kept before means the same.
    assert failure_said(what) == f"rolls, {what}"
    assert said == (
        "Walzen, Lampen oder Summer waren nicht wie erwartet bei: Zündung ein, Einzugsschaltung"
    )


def test_a_step_of_a_demo_machine_is_named_in_the_readers_words() -> None:
    steps = ("check pressed, engine off", "check pressed", "own step, odd", "armed")
    what = what_failed({"tripped": True} | {f"lamps/{step}": False for step in steps})
    with speaking("de"):
        named = failure_said(what).partition(": ")[2]
        assert named == ", ".join(map(as_written, steps))
    assert named.startswith("Prüfknopf gedrückt, Motor aus, Prüfknopf gedrückt, own step, odd, ")
    assert failure_said(what).partition(": ")[2] == ", ".join(steps)


def test_forms_speak_and_keys_stay() -> None:
    kind = KINDS["trip"]
    with speaking("de"):
        assert (kind.name, kind.title) == ("trip", "Auslösung")
        found = kind.field_of("found")
        assert found is not None
        assert (found.label, found.choices["bolt or nut"]) == (
            "Was wurde gefunden?",
            "eine Schraube oder Mutter",
        )
        with pytest.raises(EntryError, match="wird gebraucht und blieb leer"):
            read_values(kind, {"size_m": "12 mm"})
    assert kind.title == "Trip"


def test_figures_have_a_comma_and_constants_are_said_when_asked() -> None:
    with speaking("de"):
        assert span(9e7) == "2,9 Jahre"
        assert how_long(timedelta(hours=30)) == "30 h"
        assert "0,9 angenommen" in NO_FILE.notes[0]
    assert "0.9 assumed" in NO_FILE.notes[0]
