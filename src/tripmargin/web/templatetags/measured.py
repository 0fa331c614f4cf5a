"""What was measured and with which pieces, to be put on any page about a machine."""

from __future__ import annotations

from typing import Any

from django import template

from tripmargin.machine import Machine as LoadedMachine
from tripmargin.records.keeping.machines import machine_of
from tripmargin.records.store.models import MachineVersion

register = template.Library()


@register.inclusion_tag("measuring/measured.html")
def measured_inputs(of: MachineVersion | LoadedMachine, us: bool = False) -> dict[str, Any]:
    """A list of them, or a word that none is."""
    from tripmargin.web.measuring.passing import measured_in

    loaded = machine_of(of) if isinstance(of, MachineVersion) else of
    return {"measured": measured_in(loaded, us=bool(us))}


@register.inclusion_tag("measuring/owned.html")
def owned_test_pieces(box: Any) -> dict[str, Any]:
    """The yard's test pieces as buttons that fill a box."""
    from tripmargin.records.keeping.owned_pieces import owned_names
    from tripmargin.sensing.piece_said import said_piece

    return {"box": box, "owned": [(name, said_piece(name)) for name in owned_names()]}
