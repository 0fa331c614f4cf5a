"""Every name that a person can type is in the pages."""

import importlib
import pkgutil
import re

import click
import pytest

import tripmargin
from tests.reference import ROOT
from tools.docs_commands import contexts


def page(name):
    return (ROOT / name).read_text(encoding="utf-8")


def prose():
    """All pages that people write, which leaves out the page made from the help texts."""
    written = [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]
    return "\n".join(p.read_text(encoding="utf-8") for p in written if p.name != "commands.md")


def all_contexts():
    from tripmargin.cli.main import main

    return list(contexts(main))


def test_every_command_is_named_in_the_pages_that_people_write():
    leaves = [c for c in all_contexts() if not isinstance(c.command, click.Group)]
    assert leaves
    written = prose()
    assert [c.command_path for c in leaves if c.command_path not in written] == []


def test_every_option_stands_in_the_reference_of_its_command():
    text = page("docs/reference/commands.md")
    for context in all_contexts():
        section = re.split(rf"^#+ {re.escape(context.command_path)}$", text, flags=re.M)
        assert len(section) == 2, f"{context.command_path} has no section"
        own = re.split(r"^#+ ", section[1], flags=re.M)[0]
        for parameter in context.command.get_params(context):
            if isinstance(parameter, click.Option) and not parameter.hidden:
                missing = [opt for opt in parameter.opts if not re.search(rf"{opt}\b", own)]
                assert missing == [], f"{context.command_path} does not say {missing}"


def test_every_option_has_a_help_text():
    for context in all_contexts():
        for parameter in context.command.get_params(context):
            if isinstance(parameter, click.Option):
                assert parameter.help, f"{context.command_path} {parameter.opts[0]}: no help text"


def test_every_field_of_the_machine_file_is_in_its_reference():
    from tripmargin.machine.fields import all_fields

    paths = [field.path for field in all_fields()]
    assert len(paths) > 50
    text = page("docs/reference/machine-file.md")
    assert [path for path in paths if f"`{path}`" not in text] == []


def test_every_word_of_make_is_in_the_readme():
    words = re.findall(r"^([a-z]+):.*##", page("Makefile"), flags=re.M)
    assert {"run", "test", "lint", "bench", "docs", "clean"} <= set(words)
    readme = page("README.md")
    assert [word for word in words if f"make {word}" not in readme] == []


ROOMS = sorted(module.name for module in pkgutil.iter_modules(tripmargin.__path__) if module.ispkg)


@pytest.mark.parametrize("room", ROOMS)
def test_every_public_name_of_a_room_has_a_docstring(room):
    public = importlib.import_module(f"tripmargin.{room}")
    for name in getattr(public, "__all__", ()):
        thing = getattr(public, name)
        if callable(thing):
            assert (thing.__doc__ or "").strip(), f"tripmargin.{room}.{name} has no docstring"
