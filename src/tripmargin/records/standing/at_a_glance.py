"""Every machine at a glance, by the same few queries however many there are."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils import timezone

from tripmargin.ground.languages import say
from tripmargin.records.standing.due import NOTHING, URGENCIES, Due, due_of
from tripmargin.records.standing.facts import Facts, facts_of
from tripmargin.records.standing.refreshing import is_stale
from tripmargin.records.standing.stamps import moment
from tripmargin.records.standing.state import state_of
from tripmargin.records.store.models import Machine, Standing, VersionProof


@dataclass(frozen=True, slots=True)
class Glance:
    """One machine at a glance.

    Attributes
    ----------
    machine : Machine
        With `.name` and `.uid`.
    state : "protected", "doubtful", "not known" or "not"
    reasons : tuple of str
        Why, the reasons that make it so first.
    proved_at : datetime or None
        When the calculation was made.
    passed_at : datetime or None
        When a daily check last passed.
    due : tuple of Due
        The most urgent first.
    facts : dict
    """

    machine: Machine
    state: str
    reasons: tuple[str, ...]
    proved_at: datetime | None
    passed_at: datetime | None
    due: tuple[Due, ...]
    facts: Facts

    @property
    def name(self) -> str:
        """The machine's."""
        return str(self.machine.name)

    @property
    def uid(self) -> Any:
        """The machine's."""
        return self.machine.uid

    @property
    def urgency(self) -> int:
        """That of the most urgent thing that is due; a key of `URGENCIES`."""
        return self.due[0].urgency if self.due else NOTHING

    @property
    def urgency_words(self) -> str:
        """The same in words."""
        return say(URGENCIES[self.urgency])

    @property
    def look(self) -> str:
        """The state as the style sheet names it."""
        return "unknown" if self.state == "not known" else self.state

    @property
    def state_words(self) -> str:
        """The state as a person reads it."""
        words = {
            "protected": say("protected"),
            "doubtful": say("doubtful"),
            "not known": say("not known"),
            "not": say("not protected"),
        }
        return words[self.state]


def stamps_of_machines() -> list[tuple[int, datetime | None, datetime | None]]:
    """Every machine that is not put away, by name: its key, and when what is known of it changed.

    A glance that was made since both times is still right, but for what time itself changes.
    """
    return list(
        Machine.objects.filter(put_away_at=None)
        .order_by("name")
        .values_list("pk", "standing__worked_out_at", "standing__version__proof__proved_at")
    )


def machines_at_a_glance(
    now: datetime | None = None, *, us: bool = False, only: Collection[int] | None = None
) -> list[Glance]:
    """Every machine that is not put away, by name; `only` those of some keys.

    Parameters
    ----------
    now : datetime, optional
    us : bool
        Lengths in inches.

    Notes
    -----
    One query. A machine whose facts are missing or of an older program (`refreshing.is_stale`)
    costs a few more, until the next entry or `refreshing.refresh_all` keeps its facts.
    """
    now = now or timezone.now()
    machines = (
        Machine.objects.filter(put_away_at=None)
        .select_related("standing__version__proof")
        .defer(
            "standing__version__text",
            "standing__version__copy",
            "standing__version__proof__summary",
        )
        .order_by("name")
    )
    if only is not None:
        machines = machines.filter(pk__in=only)
    return [_glance(machine, now, us) for machine in machines]


def glance_at(machine: Machine, now: datetime | None = None, *, us: bool = False) -> Glance:
    """One machine, for a page of its own."""
    return _glance(machine, now or timezone.now(), us)


def _glance(machine: Machine, now: datetime, us: bool) -> Glance:
    standing: Standing | None = getattr(machine, "standing", None)
    facts = standing.facts if standing is not None else {}
    version = standing.version if standing is not None else None
    if is_stale(standing):
        from tripmargin.records.standing.asked import newest_version

        version = newest_version(machine)
        facts = facts_of(machine, version)
    proof: VersionProof | None = getattr(version, "proof", None) if version else None
    verdict = proof.verdict if proof else None
    stands = state_of(facts, now, verdict=verdict, proved_at=proof.proved_at if proof else None)
    return Glance(
        machine=machine,
        state=stands.state,
        reasons=stands.reasons,
        proved_at=proof.proved_at if proof else None,
        passed_at=moment(facts["passed"], now),
        due=due_of(facts, now, verdict=verdict, us=us),
        facts=facts,
    )
