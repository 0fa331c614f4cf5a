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


def nginx_is_present() -> bool:
    """Whether nginx is here: Debian keeps it off the path of whoever is not root."""
    return bool(shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin:/usr/local/sbin"))


def has(path: str) -> Callable[[], bool]:
    """Whether a file is here that only the package brings."""
    return Path(path).is_file


TOOLS = (
    Tool("ngspice", "checks the hold winding's decay", lambda: bool(shutil.which("ngspice"))),
    Tool("chromium", "shows pictures at phone width", lambda: bool(shutil.which("chromium"))),
    Tool("postgresql", "keeps the records of a team", initdb_is_present),
    Tool("nginx-light", "stands before the server, with TLS", nginx_is_present),
    Tool("caddy", "stands before the server as well", lambda: bool(shutil.which("caddy"))),
    Tool("openssl", "makes nginx a certificate", lambda: bool(shutil.which("openssl"))),
    Tool("fonts-dejavu-core", "letters in the pictures", dejavu_is_present),
    # Real machine noise, CC-BY-SA 3.0 and GPL-2: tests/recordings/backgrounds.py says which.
    Tool(
        "openttd-opensfx",
        "machine noise behind the stops that are heard",
        has("/usr/share/games/openttd/baseset/opensfx/opensfx.cat"),
    ),
    Tool(
        "crrcsim-data",
        "an electric motor's noise, likewise",
        has("/usr/share/games/crrcsim/sounds/electric.wav"),
    ),
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
    if _done([*command, "-qq", "update"]) and not _installed(command, packages):
        # One that this release does not have must not keep the others away.
        for package in packages:
            _installed(command, [package])


def _installed(command: list[str], packages: list[str]) -> bool:
    return _done([*command, "-qq", "install", "--yes", "--no-install-recommends", *packages])


def _done(command: list[str]) -> bool:
    result = subprocess.run(command, stdout=subprocess.DEVNULL, check=False)
    if result.returncode:
        print(f"  {' '.join(command)} failed", file=sys.stderr)
    return result.returncode == 0


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
