"""The floors of docs/ARCHITECTURE.md hold: see the contract in pyproject.toml."""

import re
import subprocess
import sys
from pathlib import Path

from tests.reference import ROOT

LINT = "from importlinter.cli import lint_imports_command; lint_imports_command()"
LOOK = "import sys, tripmargin; print([m for m in sys.modules if m.split('.')[0] in sys.argv[1:]])"
HEAVY = ("scipy", "rich", "vl_convert", "contourpy", "tree_sitter", "tree_sitter_toml", "click")
HEAVY += ("django", "waitress", "psycopg", "PIL")


def python(*arguments, folder=ROOT):
    command = [sys.executable, *arguments]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


def test_imports_point_up_the_list_of_rooms_only():
    done = python("-c", LINT)
    assert done.returncode == 0, done.stdout + done.stderr
    assert re.search(r"Contracts: [1-9]\d* kept, 0 broken", done.stdout), done.stdout


def test_a_wrong_import_is_found(tmp_path):
    # the contract itself: the same file, held against a small house with one import down the stairs
    house = tmp_path / "tripmargin"
    rooms = ("ground", "machine", "sensing", "stopping", "circuit", "protection")
    rooms += ("faultfinding", "recordings", "drills", "pictures", "records")
    rooms += ("reports", "web", "cli")
    within = [f"faultfinding/{each}" for each in ("deciding", "suspects", "cases")]
    within += [f"faultfinding/{each}" for each in ("charts", "rehearsals", "wording")]
    within += [f"records/{each}" for each in ("statistics", "kinds", "home", "store")]
    within += [f"records/{each}" for each in ("standing", "keeping", "exchange")]
    for room in ("", *rooms, *within):
        (house / room).mkdir(exist_ok=True, parents=True)
        (house / room / "__init__.py").write_text("")
    (tmp_path / "pyproject.toml").write_text((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert python("-c", LINT, folder=tmp_path).returncode == 0
    (house / "sensing" / "__init__.py").write_text("import tripmargin.stopping\n")
    assert python("-c", LINT, folder=tmp_path).returncode == 1


def test_importing_the_package_loads_nothing_heavy():
    done = python("-c", LOOK, "numpy", *HEAVY)
    assert done.stdout.strip() == "[]", done.stdout + done.stderr


def test_an_init_hands_out_names_and_defines_nothing():
    inits = [
        p
        for p in (ROOT / "src" / "tripmargin").rglob("__init__.py")
        if p.parent.name != "tripmargin"
    ]
    assert len(inits) >= 5
    defining = re.compile(r"^(?:async )?(?:def|class) ", re.M)
    assert [p.parent.name for p in inits if defining.search(Path(p).read_text("utf-8"))] == []
