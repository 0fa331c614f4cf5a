"""What the pages show is run: Python blocks, and `$ tripmargin` lines of console blocks."""

import doctest
import re

import pytest
from click.testing import CliRunner

from tools.pages import ROOT, blocks, commands, file_name, pages

LOOSE = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE
PAGES = [
    page
    for page in pages()
    if any(block.language in ("python", "console") for block in blocks(page))
]


@pytest.fixture
def empty_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.setenv("NO_COLOR", "1")
    return tmp_path


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_the_code_on_a_page_does_what_the_page_says(page, empty_folder):
    names = {"__name__": "page"}
    for block in blocks(page):
        if name := file_name(block):
            (empty_folder / name).write_text(block.body, encoding="utf-8")
        elif block.language == "python":
            run_python(block, names)
        elif block.language == "console":
            for command in commands(block):
                run_command(command, block.place)


def run_python(block, names):
    if not re.search(r"^>>> ", block.body, flags=re.M):
        exec(compile("\n" * block.line + block.body, block.page.name, "exec"), names)
        return
    test = doctest.DocTestParser().get_doctest(
        block.body, names, block.place, str(block.page), block.line
    )
    report = []
    runner = doctest.DocTestRunner(optionflags=LOOSE)
    runner.run(test, out=report.append, clear_globs=False)
    names.update(test.globs)
    assert runner.failures == 0, "".join(report)


def run_command(command, place):
    from tripmargin.cli.main import main

    result = CliRunner().invoke(main, list(command.arguments), prog_name="tripmargin")
    typed = " ".join(["tripmargin", *command.arguments])
    if result.exception and not isinstance(result.exception, SystemExit):
        raise AssertionError(f"{place}: `{typed}` broke") from result.exception
    assert result.exit_code == command.exit_status, f"{place}: `{typed}`\n{result.output}"
    if command.shown.strip():
        # progress goes to the other stream, and so do errors
        printed = result.output if command.exit_status else result.stdout
        same = doctest.OutputChecker().check_output(command.shown, printed, LOOSE)
        assert same, f"{place}: `{typed}` prints\n{printed}"
