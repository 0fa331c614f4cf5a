"""The machine file: one file a machine, with units and tolerances as text."""

from tripmargin.machine.fields import all_fields
from tripmargin.machine.loading import demo_machines, load_machine
from tripmargin.machine.model import Machine
from tripmargin.machine.schema import json_schema

__all__ = [
    "Machine",
    "all_fields",
    "demo_machines",
    "json_schema",
    "load_machine",
]
