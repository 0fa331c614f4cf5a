"""What the project says of itself in several places is the same in all of them."""

import re
import tomllib

import pytest

import tripmargin
from tests.reference import ROOT
from tools.docs_validation import checks

SOURCE = ROOT / "src" / "tripmargin"
ARCHITECTURE = ROOT / "docs" / "ARCHITECTURE.md"
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def test_the_version_is_one_version():
    version = PROJECT["project"]["version"]
    assert tripmargin.__version__ == version
    cited = re.search(r"^version: \"?([\w.]+)", (ROOT / "CITATION.cff").read_text(), flags=re.M)
    assert cited is not None
    assert cited[1] == version
    assert f"## {version}" in (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["run", "test"])
def test_a_lock_pins_with_hashes_and_names_no_host_and_no_folder(name):
    text = (ROOT / "requirements" / f"{name}.txt").read_text(encoding="utf-8")
    pins = re.split(r"^(?=[a-zA-Z])", text, flags=re.M)[1:]
    assert pins
    assert [pin for pin in pins if not re.match(r"[\w.-]+==.*--hash=sha256:", pin, re.S)] == []
    assert re.findall(r"https?:|file:|--(?:index|extra|find)\S*|^/|@ ", text, flags=re.M) == []


def test_the_locks_hold_the_same_versions():
    def pins(name):
        text = (ROOT / "requirements" / f"{name}.txt").read_text(encoding="utf-8")
        return dict(re.findall(r"^([\w.-]+)==(\S+)", text, flags=re.M))

    run, test = pins("run"), pins("test")
    assert {name: test.get(name) for name in run} == run


def test_the_locks_hold_everything_that_the_project_asks_for():
    asked = PROJECT["project"]["dependencies"]
    extras = PROJECT["project"]["optional-dependencies"]
    extra = [each for each in extras["test"] if each != "tripmargin[loggers]"] + extras["loggers"]
    for name, wanted in (("run", asked), ("test", asked + extra)):
        text = (ROOT / "requirements" / f"{name}.txt").read_text(encoding="utf-8").lower()
        names = [re.match(r"[\w-]+", each)[0].lower() for each in wanted]
        assert [each for each in names if not re.search(rf"^{each}==", text, flags=re.M)] == []


def test_every_check_against_an_outside_value_names_its_source():
    found = checks()
    assert found
    assert [f"{c.path.name}: {c.sentence}" for c in found if len(c.source) < 20] == []


def test_every_room_has_its_paragraph_in_the_architecture():
    text = ARCHITECTURE.read_text(encoding="utf-8")
    rooms = [path.parent.name for path in SOURCE.glob("*/__init__.py")]
    assert len(rooms) >= 5
    assert [room for room in rooms if f"**{room}/**" not in text] == []


def test_every_file_named_in_the_architecture_exists():
    text = ARCHITECTURE.read_text(encoding="utf-8")
    named = set(re.findall(r"`((?:[a-z_]+/)+[a-z_]+\.(?:py|toml))`", text))
    assert len(named) > 20
    assert sorted(name for name in named if not (SOURCE / name).exists()) == []
