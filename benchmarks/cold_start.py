"""Cold start: how long until the command line answers, and how much memory a proof takes.

Peers, each in a fresh interpreter of the same environment: `python -c pass` for the help, and
`python -c "import numpy, scipy"` for a proof. Every child finds its bytecode compiled: a first run
of each, not counted, fills a bytecode folder of its own. Without compiled bytecode (an environment
with PYTHONDONTWRITEBYTECODE, say) every start compiles all that it imports and is slower.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

from common.turns import in_turn, median, say, spoken, where

MACHINE = "whimbrel"
NOTHING = ["-c", "pass"]
LIBRARIES = ["-c", "import numpy, scipy"]
# What the installed script runs.
SCRIPT = "import sys; from tripmargin.cli.main import main; sys.exit(main(prog_name='tripmargin'))"
HELP = ["-c", SCRIPT, "--help"]
PROVE = ["-c", SCRIPT, "prove", MACHINE]


class Children:
    """Fresh interpreters that share one folder of compiled bytecode."""

    def __init__(self, folder: str) -> None:
        source = str(Path(__file__).resolve().parents[1] / "src")
        self.environment = {
            **{k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"},
            "PYTHONPYCACHEPREFIX": folder,
            "PYTHONPATH": os.pathsep.join(filter(None, [source, os.environ.get("PYTHONPATH")])),
        }

    def run(self, arguments: list[str]) -> None:
        """Run one to its end; its output is not wanted."""
        subprocess.run(
            [sys.executable, *arguments],
            env=self.environment,
            check=True,
            stdout=subprocess.DEVNULL,
        )

    def peak_memory(self, arguments: list[str]) -> float:
        """Greatest resident memory of one, MB (POSIX only)."""
        child = subprocess.Popen(
            [sys.executable, *arguments], env=self.environment, stdout=subprocess.DEVNULL
        )
        _, status, usage = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
        if child.returncode:
            raise subprocess.CalledProcessError(child.returncode, arguments)
        kilobytes = usage.ru_maxrss / (1024 if sys.platform == "darwin" else 1)
        return kilobytes / 1024


def help_cold(children: Children) -> None:
    peer, ours = in_turn(
        lambda: children.run(NOTHING), lambda: children.run(HELP), rounds=15, patience=30
    )
    say(
        "`tripmargin --help`, cold, against a bare `python -c pass`",
        median(ours) / median(peer),
        "at most 5 x",
        f"medians of {len(ours)}: {spoken(median(ours))} against {spoken(median(peer))}",
    )


def prove_cold(children: Children) -> None:
    peer, ours = in_turn(
        lambda: children.run(LIBRARIES), lambda: children.run(PROVE), rounds=5, patience=30
    )
    say(
        f'`tripmargin prove {MACHINE}`, cold, against `python -c "import numpy, scipy"`',
        median(ours) / median(peer),
        "under 3 s",
        f"medians of {len(ours)}: {spoken(median(ours))} against {spoken(median(peer))}",
    )


def memory(children: Children) -> None:
    if not hasattr(os, "wait4"):
        print("Peak memory: not measured, this system does not tell it.")
        return
    peer, ours = children.peak_memory(LIBRARIES), children.peak_memory(PROVE)
    say(
        f"Peak memory of `tripmargin prove {MACHINE}` against the import of numpy and scipy",
        ours / peer,
        "under 300 MB",
        f"{ours:.0f} MB against {peer:.0f} MB",
    )


def main() -> None:
    print(f"Cold start; {where()}; bytecode compiled.")
    with tempfile.TemporaryDirectory() as folder:
        children = Children(folder)
        for arguments in (NOTHING, LIBRARIES, HELP, PROVE):
            children.run(arguments)
        help_cold(children)
        prove_cold(children)
        memory(children)


if __name__ == "__main__":
    main()
