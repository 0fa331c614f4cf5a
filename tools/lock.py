"""Write requirements/run.txt and requirements/test.txt from pyproject.toml, with hashes.

The versions already locked are kept where they still fit, so that a second run changes nothing;
``--upgrade`` moves to the newest. One lock serves every Python from 3.11 on.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
COMMON = (
    "--generate-hashes",
    "--universal",
    "--python-version=3.11",
    "--fork-strategy=fewest",
    "--no-emit-index-url",
    "--no-emit-find-links",
    "--no-header",
    "--no-config",
    "--no-sources",
    "--quiet",
)
SOURCES = ("pyproject.toml", "requirements/build.in")


def compile_lock(name: str, *options: str) -> None:
    """Lock into requirements/<name>.txt; raise CalledProcessError where nothing fits."""
    output = f"requirements/{name}.txt"
    uv = [sys.executable, "-m", "uv", "pip", "compile"]
    command = [*uv, *COMMON, *SOURCES, "--output-file", output, *options]
    subprocess.run(command, cwd=ROOT, check=True)
    print(f"locked {output}")


def main() -> None:
    upgrade = ["--upgrade"] if "--upgrade" in sys.argv[1:] else []
    compile_lock("run", *upgrade)
    compile_lock("test", "--extra=test", "--constraint=requirements/run.txt", *upgrade)


if __name__ == "__main__":
    main()
