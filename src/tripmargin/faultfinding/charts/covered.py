"""What the checks prove and leave open, as it is handed out."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class CoveredFault:
    """A single fault, and what shows it.

    Attributes
    ----------
    id, text, mended : str
    rate : float
        Per 1000 operating hours.
    source : str
        Of the rate.
    comes_and_goes : bool
        It counts as there in what follows.
    metal : str
        What becomes of metal that a sound machine stops in time.
    paths : tuple of str
        Check paths that show it.
    kinds : tuple of str
        Kinds of look that show it, in some state.
    quickest : str
        The look that shows it in the least time from rest; empty where none does.
    quickest_minutes : float
        Of that look, with the way to its state.
    """

    id: str
    text: str
    mended: str
    rate: float
    source: str
    comes_and_goes: bool
    metal: str
    paths: tuple[str, ...]
    kinds: tuple[str, ...]
    quickest: str
    quickest_minutes: float


@dataclass(frozen=True, slots=True)
class PathCoverage:
    """A check path, or a kind of look in every state: which single faults it shows.

    `share` is by rate, of all single faults. `proves` and `leaves_open` are the machine file's
    words; `shows` and `misses` are computed, ids of faults.
    """

    name: str
    minutes: float
    share: float
    shows: tuple[str, ...]
    misses: tuple[str, ...]
    proves: str = ""
    leaves_open: str = ""


@dataclass(frozen=True, slots=True)
class Coverage:
    """What the checks of a machine prove, and what they leave open.

    Attributes
    ----------
    machine_name, daily : str
    faults : tuple of CoveredFault
        Every single fault, the most frequent first.
    paths : tuple of PathCoverage
        The check paths of the machine file.
    kinds : tuple of PathCoverage
        Each kind of look, made in every state that it can be made in.
    silent : tuple of str
        Faults that leave every lamp and buzzer as on a sound machine, in every state.
    silent_until_stop : tuple of str
        Others that do so until a stop is asked for: metal comes, or the check button is pressed.
    silent_while_feeding : tuple of str
        Others that do so while the feed runs, until then: a lamp or buzzer differs only when the
        machine is switched on or reset.
    not_daily : tuple of str
        Faults that the daily check does not show and some look does.
    nothing_shows : tuple of str
        Faults that no look shows and nobody would complain of.
    rates : tuple of str
        Where the rates come from.
    """

    machine_name: str
    daily: str
    faults: tuple[CoveredFault, ...]
    paths: tuple[PathCoverage, ...]
    kinds: tuple[PathCoverage, ...]
    silent: tuple[str, ...]
    silent_until_stop: tuple[str, ...]
    silent_while_feeding: tuple[str, ...]
    not_daily: tuple[str, ...]
    nothing_shows: tuple[str, ...]
    rates: tuple[str, ...]

    def fault(self, name: str) -> CoveredFault:
        """A fault by its id; raises KeyError for one that this machine cannot have."""
        for each in self.faults:
            if each.id == name:
                return each
        raise KeyError(name)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready: minutes, shares from 0 to 1, rates per 1000 h."""
        return asdict(self)
