"""What `prove` says of a version of a machine's file, worked out once and kept."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.utils import timezone

import tripmargin
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages.each import in_each
from tripmargin.protection import Proof
from tripmargin.records.standing.asked import loaded_of, newest_version
from tripmargin.records.store.models import Machine, MachineVersion, VersionProof

PROGRAM = f"tripmargin {tripmargin.__version__}"
_FRESH = timedelta(days=30)  # a twelfth of a season: limits move by a twelfth of the drift
_LEFT_OUT = ("protection_map", "costs")  # large, and drawn anew where they are shown


def kept_proof(version: MachineVersion) -> VersionProof | None:
    """The proof that is kept, by whatever program; None: not worked out yet."""
    return VersionProof.objects.filter(version=version).first()


def proof_of(version: MachineVersion) -> VersionProof:
    """The proof of a version by this program, worked out where it is not kept yet.

    That takes some 2 s: for the page of one machine, never for a list, nor within a write. Two
    that ask at once work it out twice and keep it once.

    Raises
    ------
    TripmarginError
        If the version's copy cannot be read.
    """
    kept = kept_proof(version)
    if kept is not None and kept.program == PROGRAM and not _aged_since(kept):
        return kept
    return keep_proof(version, tripmargin.prove(loaded_of(version)))


def prove_what_never_was(progress: Callable[[float], None] | None = None) -> int:
    """Prove the version in force of every machine that is not put away and was never proved.

    Some 2 s each. A version whose copy cannot be read stays as it is.

    Parameters
    ----------
    progress : callable, optional
        Told the share done, 0 to 1.

    Returns
    -------
    int
        How many were proved.
    """
    versions = [newest_version(one) for one in Machine.objects.filter(put_away_at=None)]
    never = [one for one in versions if one is not None and kept_proof(one) is None]
    proved = 0
    for number, version in enumerate(never, 1):
        try:
            proof_of(version)
        except TripmarginError:
            pass
        else:
            proved += 1
        if progress is not None:
            progress(number / len(never))
    return proved


def _aged_since(kept: VersionProof) -> bool:
    """Whether what was measured of the machine is surely older by now than the proof took it."""
    drifts = any(one.get("drift") for one in kept.summary.get("measured", ()))
    return drifts and timezone.now() - kept.proved_at > _FRESH


def keep_proof(version: MachineVersion, proof: Proof) -> VersionProof:
    """Keep what was proved of a version, as its file has it; its reasons in each language."""
    summary: dict[str, Any] = {
        key: value for key, value in proof.to_dict().items() if key not in _LEFT_OUT
    }
    summary["because"] = in_each(lambda: list(proof.because_in(us=False)))
    summary["because_us"] = in_each(lambda: list(proof.because_in(us=True)))
    made: VersionProof
    made, _ = VersionProof.objects.update_or_create(
        version=version,
        defaults={
            "verdict": proof.verdict,
            "summary": summary,
            "program": PROGRAM,
            "proved_at": timezone.now(),
        },
    )
    return made
