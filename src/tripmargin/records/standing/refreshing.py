"""Working out anew where a machine stands, after something was written about it."""

from __future__ import annotations

from django.utils import timezone

from tripmargin.records.store.models import Machine, Standing


def refresh(machine: Machine) -> Standing:
    """Work the machine's standing out from its log and store it, in the caller's transaction."""
    standing: Standing
    standing, _ = Standing.objects.update_or_create(
        machine=machine,
        defaults={
            "version": machine.versions.order_by("-number").first(),
            "facts": {},
            "worked_out_at": timezone.now(),
        },
    )
    return standing
