"""Find the programs outside Python that the tests call, and install them where that is allowed.

Debian's packages are used, as root or where ``sudo`` asks nothing. Elsewhere this says what is
missing, and the tests that need it are skipped with that reason. Under CI=true a missing program
is a failure: exit status 1.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Tool:
    """A program or font, the Debian package that brings it, and how to see that it is there."""

    package: str
    why: str
    present: Callable[[], bool]


def dejavu_is_present() -> bool:
    folders = (Path("/usr/share/fonts"), Path("/usr/local/share/fonts"), Path.home() / ".fonts")
    return any(True for folder in folders for _ in folder.rglob("DejaVuSans.ttf"))


def initdb_is_present() -> bool:
    """Whether PostgreSQL's own programs are here: Debian keeps them off the path."""
    return bool(shutil.which("initdb")) or any(Path("/usr/lib/postgresql").glob("*/bin/initdb"))


TOOLS = (
    Tool("ngspice", "checks the hold winding's decay", lambda: bool(shutil.which("ngspice"))),
    Tool("chromium", "shows pictures at phone width", lambda: bool(shutil.which("chromium"))),
    Tool("postgresql", "keeps the records of a team", initdb_is_present),
    Tool("fonts-dejavu-core", "letters in the pictures", dejavu_is_present),
)


def missing() -> list[Tool]:
    return [tool for tool in TOOLS if not tool.present()]


def apt_get() -> list[str] | None:
    """Return the command that may install packages here without asking, or None."""
    if not shutil.which("apt-get"):
        return None
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        return ["apt-get"]
    if shutil.which("sudo"):
        asked = subprocess.run(["sudo", "-n", "true"], capture_output=True, check=False)
        if asked.returncode == 0:
            return ["sudo", "-n", "apt-get"]
    return None


def install(command: list[str], packages: list[str]) -> None:
    print(f"Installing system packages for the tests: {' '.join(packages)}", flush=True)
    os.environ["DEBIAN_FRONTEND"] = "noninteractive"
    for step in (["update"], ["install", "--yes", "--no-install-recommends", *packages]):
        result = subprocess.run([*command, "-qq", *step], stdout=subprocess.DEVNULL, check=False)
        if result.returncode:
            print(f"  {' '.join([*command, *step])} failed", file=sys.stderr)
            return


def main() -> int:
    lacking = missing()
    command = apt_get() if lacking else None
    if command:
        install(command, [tool.package for tool in lacking])
        lacking = missing()
    for tool in lacking:
        print(f"MISSING: {tool.package} ({tool.why}). Tests that need it are skipped.")
        print(f"  Debian and its relatives: apt-get install {tool.package}")
    return 1 if lacking and os.environ.get("CI") == "true" else 0


if __name__ == "__main__":
    sys.exit(main())
