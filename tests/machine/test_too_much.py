"""Machine files that were made to take long: refused at once, with words."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from tripmargin.ground.errors import MachineFileError
from tripmargin.machine import load_machine
from tripmargin.machine.files import tables_of

# Each took from 8 s to more than a minute before it was refused.
TOO_MUCH = {
    "one key of 450,000 parts": ("a." * 450_000)[:-1] + "=1",
    "deep keys": "\n".join("a" + ".a" * 200 + f".b{i}=1" for i in range(2200)),
    "deep keys in quotes": "\n".join('"a"' + ' . "a"' * 40 + f".b{i}=1" for i in range(2000)),
    "deep tables": "\n".join("[" + "a." * 150 + f"b{i}]" for i in range(3000)),
    "a deep key in a table in a line": "x = {" + "a." * 200_000 + "b = 1}",
    "100,000 tables": "\n".join(f"[t{i}]" for i in range(100_000)),
    "60,000 pawls": "[[chain.pawls]]\n" * 60_000,
    "90,000 keys": "[machine]\n" + "\n".join(f"k{i} = 1" for i in range(90_000)),
}


@pytest.mark.parametrize("text", TOO_MUCH.values(), ids=TOO_MUCH.keys())
def test_a_file_made_to_take_long_is_refused_at_once(tmp_path: Path, text: str) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(text)
    began = time.process_time()
    with pytest.raises(MachineFileError, match=r"more than 10000 keys|more than 30 parts"):
        load_machine(path)
    assert time.process_time() - began < 2  # s; measured: at most 0.2


def test_a_list_without_end_is_told_by_its_field(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text("[feed]\ncut_lengths = [" + "1," * 450_000 + "]")
    began = time.process_time()
    with pytest.raises(MachineFileError, match=r"450000 values.*more than 1000 cut lengths"):
        load_machine(path)
    assert time.process_time() - began < 15  # s; measured: 3


def test_nine_thousand_mistakes_are_all_told_with_their_lines(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text("[machine]\n" + "\n".join(f"k{i} = 1" for i in range(9000)))
    began = time.process_time()
    with pytest.raises(MachineFileError) as caught:
        load_machine(path)
    assert time.process_time() - began < 5  # s; measured: 0.4
    assert [problem.line for problem in caught.value.problems] == list(range(2, 9002))


@pytest.mark.parametrize(
    "text",
    ["note = '" + "x." * 100 + "'", 'note = "' + "a, b = [c]. " * 100 + '"', "a.b.c.d.e = 1"],
)
def test_many_dots_in_a_text_are_no_deep_key(text: str) -> None:
    assert tables_of(text)
