"""Fetch what the tests read and no package installs: files that come with a library's source.

The source package of asammdf carries, in its own tests, MDF files that two other programs wrote.
It is licensed under the LGPL, version 3 or later, as is what comes with it; nothing of it is kept
in this repository. The package index is asked through pip, once: the files stay in the local
environment. Elsewhere this says what is missing, and the tests that need it are skipped with that
reason. Under CI=true a missing file is a failure: exit status 1.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tarfile
import tempfile
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

FOLDER = Path(sys.prefix) / "test-files" / "asammdf"
WANTED = ("ASAP2_Demo_V171.mf4", "test_metadata.mf4", "LICENSE")


def present() -> bool:
    return all((FOLDER / name).is_file() for name in WANTED)


def fetch() -> None:
    """Download the source of the version that is installed, and take out what is wanted."""
    try:
        wanted = f"asammdf=={version('asammdf')}"
    except PackageNotFoundError:
        return
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps"]
        command += ["--disable-pip-version-check", "--no-binary", "asammdf", "--dest", folder]
        done = subprocess.run([*command, wanted], capture_output=True, text=True, check=False)
        archives = list(Path(folder).glob("asammdf-*.tar.gz"))
        if done.returncode or not archives:
            print(f"  the source of {wanted} cannot be fetched", file=sys.stderr)
            return
        FOLDER.mkdir(parents=True, exist_ok=True)
        with tarfile.open(archives[0]) as archive:
            for member in archive:
                name = Path(member.name).name
                content = archive.extractfile(member) if name in WANTED else None
                if content is not None and not (FOLDER / name).exists():
                    (FOLDER / name).write_bytes(content.read())


def main() -> int:
    if present():
        return 0
    print("Fetching files for the tests: the source of asammdf", flush=True)
    fetch()
    if present():
        return 0
    print(f"MISSING: {', '.join(WANTED)} in {FOLDER}. Tests that need them are skipped.")
    return 1 if os.environ.get("CI") == "true" else 0


if __name__ == "__main__":
    sys.exit(main())
