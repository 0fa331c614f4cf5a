"""The folder in which a program keeps what takes long to work out."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from tripmargin.faultfinding.suspects.kept import keep_in

VARIABLE = "TRIPMARGIN_CACHE"
OFF = "off"


def kept_folder() -> Path | None:
    """The folder, None where nothing is to be kept.

    `TRIPMARGIN_CACHE` names one, or says "off". Else it is the user's own folder for such files.
    """
    wanted = os.environ.get(VARIABLE, "")
    if wanted == OFF:
        return None
    if wanted:
        return Path(wanted)
    usual = os.environ.get("LOCALAPPDATA" if sys.platform == "win32" else "XDG_CACHE_HOME")
    try:
        return (Path(usual) if usual else Path.home() / ".cache") / "tripmargin"
    except RuntimeError:  # nobody's home
        return None


def keep_what_is_worked_out() -> None:
    """Keep machines that were read from now on, and use those that are kept."""
    keep_in(kept_folder())
