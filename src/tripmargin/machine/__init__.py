"""The machine file: one file a machine, with units and tolerances as text."""

from tripmargin.machine.copies import (
    Difference,
    MachineCopyError,
    copy_of,
    differences,
    digest_of,
    machine_from_copy,
)
from tripmargin.machine.fields import all_fields
from tripmargin.machine.loading import demo_machines, load_machine
from tripmargin.machine.model import Machine
from tripmargin.machine.schema import json_schema

__all__ = [
    "Difference",
    "Machine",
    "MachineCopyError",
    "all_fields",
    "copy_of",
    "demo_machines",
    "differences",
    "digest_of",
    "json_schema",
    "load_machine",
    "machine_from_copy",
]
