"""The checks of the documentation can fail."""

import pytest

from tests.docs.test_code_blocks import run_command, run_python
from tools import pages as tool
from tools.docs_validation import _checks_of

PAGE = """\
# A page

See [itself](#a-page), [a file](here.md), [nothing](gone.md), [no heading](#gone) and
[elsewhere](https://example.org). `[code](is-no-link)`

```toml
# plover.toml: a machine
format = 1
```

```python
>>> 1 + 1
2
```

```console exit=2
$ cd elsewhere
$ tripmargin prove \\
    plover.toml --cut 9mm   # a remark
no such
file
$ tripmargin --help
```
"""


@pytest.fixture
def page(tmp_path, monkeypatch):
    monkeypatch.setattr(tool, "ROOT", tmp_path)
    (tmp_path / "here.md").write_text("# Here\n")
    path = tmp_path / "page.md"
    path.write_text(PAGE)
    return path


def test_links_that_lead_nowhere_are_found(page):
    assert tool.broken_links(page) == ["gone.md", "#gone"]


def test_a_toml_block_with_a_name_is_a_file(page):
    assert [tool.file_name(block) for block in tool.blocks(page)] == ["plover.toml", None, None]


def test_the_commands_of_a_console_block_are_found(page):
    block = tool.blocks(page)[2]
    assert block.place == "page.md:16"
    first, second = tool.commands(block)
    assert first == tool.Command(("prove", "plover.toml", "--cut", "9mm"), "no such\nfile", 2)
    assert second == tool.Command(("--help",), "", 2)


def test_a_wrong_result_on_a_page_fails(page):
    block = tool.blocks(page)[1]
    run_python(block, {})
    wrong = tool.Block(page, 1, "python", {}, ">>> 1 + 1\n3\n")
    with pytest.raises(AssertionError, match="Expected"):
        run_python(wrong, {})


def test_a_wrong_status_or_output_of_a_command_fails():
    run_command(tool.Command(("--help",), "Usage: tripmargin ...", 0), "here")
    with pytest.raises(AssertionError, match="prints"):
        run_command(tool.Command(("--help",), "Something else", 0), "here")
    with pytest.raises(AssertionError, match="no-such-command"):
        run_command(tool.Command(("no-such-command",), "", 0), "here")


def test_a_check_without_a_source_is_found(tmp_path):
    path = tmp_path / "test_values.py"
    path.write_text("def test_a():\n    assert True\n\n\n# Osborn 1945\ndef test_b():\n    pass\n")
    assert [(c.sentence, c.source) for c in _checks_of(path)] == [("a", ""), ("b", "Osborn 1945")]
