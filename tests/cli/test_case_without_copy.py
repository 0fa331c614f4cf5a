"""`find-fault --case` where the copy of the case's machine is lost: what the command says."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from tripmargin.cli.main import main
from tripmargin.faultfinding import CaseFile
from tripmargin.machine import copy_of, load_machine


@pytest.mark.parametrize("more", [(), ("--json",), ("--keep", "as it was")])
def test_a_lost_copy_of_another_machine_is_told_of_with_what_to_do(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, more: tuple[str, ...]
):
    monkeypatch.chdir(tmp_path)
    before = load_machine("whimbrel").with_settings({"checks.wrong": "10 %"})
    case = CaseFile.begin("one.jsonl", {"machine_name": before.name, "machine": copy_of(before)})
    case.append("finding", check="at rest: fuse F3", word="gone")
    name = case.head["machine_file"]
    Path(name).unlink()
    content = Path("one.jsonl").read_bytes()
    result = CliRunner().invoke(main, ["find-fault", "whimbrel", "--case", "one.jsonl", *more])
    assert result.exit_code == 2
    said = " ".join(result.output.split())
    for words in (name, "1 entry", f"Put {name} back", '--keep "as it is"'):
        assert words in said
    assert Path("one.jsonl").read_bytes() == content
