"""Which words of a machine file are read by people, and that the demo machines' are all German."""

from __future__ import annotations

import tomllib
from itertools import chain

import pytest

from tripmargin.ground.languages import speaking
from tripmargin.ground.languages.own_words import as_written
from tripmargin.machine import copy_of, demo_machines, digest_of, load_machine
from tripmargin.machine.loading import demo_path
from tripmargin.machine.own_words import own_words

SHEETS = sorted(demo_path("curlew").parent.glob("*.toml"))


def words_of(path):
    return list(own_words(tomllib.loads(path.read_text("utf-8"))))


def names_shown(machine):
    """The names of each table that a person picks from."""
    circuit, checks = machine.circuit, machine.checks
    yield [part.name for part in circuit.parts]
    yield [step.name for step in circuit.steps]
    for tables in (checks.states, checks.looks, checks.paths):
        yield [each.name for each in tables]


def test_words_and_names_are_found_but_no_designations():
    found = words_of(demo_path("curlew").parent / "type-trailed-electric.toml")
    for text in ("trip output live", "hand set on", "Engine off. Hold reverse on the hand set."):
        assert text in found
    assert not {"F1", "K1", "13.2 V +- 0.8 V", "volts", "Curlew"} & set(found)


@pytest.mark.parametrize("name", demo_machines())
def test_every_name_that_is_shown_is_among_the_words(name):
    """From the loaded machine, so that no table of the format is overlooked."""
    found = set(chain.from_iterable(map(words_of, SHEETS)))
    shown = chain.from_iterable(names_shown(load_machine(name)))
    assert [text for text in shown if text not in found and any(map(str.islower, text))] == []


@pytest.mark.parametrize("name", demo_machines())
def test_prose_of_the_checks_and_of_the_wiring_is_among_the_words(name):
    found = set(chain.from_iterable(map(words_of, SHEETS)))
    machine = load_machine(name)
    tables = (
        *machine.circuit.parts, *machine.circuit.test_points, *machine.circuit.faults,
        *machine.checks.states, *machine.checks.looks, *machine.checks.paths,
        *machine.checks.repairs,
    )  # fmt: skip
    fields = ("place", "proves", "leaves_open", "colour", "do", "text", "source")
    told = {text for table in tables for field in fields if (text := getattr(table, field, None))}
    assert told - found == set()


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.stem)
def test_every_word_of_a_demo_machine_is_translated(path):
    """A few read alike in both languages, so the catalogue itself is asked."""
    from tools import catalogues

    kept = catalogues.read(catalogues.CATALOGUES / "de" / "demo.po")
    left = [
        text for text in words_of(path) if not getattr(kept.get(text, "machine file"), "string", "")
    ]
    assert left == []


@pytest.mark.parametrize("name", demo_machines())
def test_names_that_differ_still_differ_in_german(name):
    with speaking("de"):
        for names in names_shown(load_machine(name)):
            names = list(dict.fromkeys(names))
            assert len({as_written(each) for each in names}) == len(names)


def test_what_is_compared_hashed_and_kept_is_the_same_in_every_language():
    english = load_machine("curlew")
    with speaking("de"):
        german = load_machine("curlew")
        assert german == english
        assert digest_of(german) == digest_of(english)
        assert copy_of(german) == copy_of(english)
        assert german.to_dict() == english.to_dict()
