"""Reference cases made by another route, in a folder beside the project.

The folder is ``../shared/ref``, or what TRIPMARGIN_REF names. Where it is absent the tests that
read it are skipped and say so; under CI=true they fail, so that a check cannot quietly go away.
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[1]
DEFAULT_FOLDER = ROOT / ".." / "shared" / "ref"


def under_ci() -> bool:
    """Whether a missing aid must fail instead of skip."""
    return os.environ.get("CI") == "true"


def lacking(what: str) -> None:
    """Skip the test, or the whole module while it is collected, and say loudly what is missing.

    Under CI=true fail instead.
    """
    if under_ci():
        pytest.fail(f"{what}: missing, and CI must not skip", pytrace=False)
    pytest.skip(f"NOT CHECKED. {what}: missing", allow_module_level=True)


def reference_path(name: str = "") -> Path:
    """Path of a reference file or folder, e.g. ``reference_path("sensing/cases_open.json")``."""
    path = Path(os.environ.get("TRIPMARGIN_REF") or DEFAULT_FOLDER) / name
    if not path.exists():
        lacking(f"reference {name or 'folder'} ({path}; TRIPMARGIN_REF names another folder)")
    return path


def reference_cases(name: str) -> Any:
    """Content of a reference JSON file; usable in ``parametrize``, while tests are collected."""
    return json.loads(reference_path(name).read_text(encoding="utf-8"))
