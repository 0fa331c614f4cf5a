"""The tables, one file a matter."""

from tripmargin.records.store.models.cases import CaseLine, FaultCase
from tripmargin.records.store.models.entries import Entry, Photo
from tripmargin.records.store.models.machines import (
    Machine,
    MachineVersion,
    Standing,
    TypeSheet,
    TypeSheetVersion,
    VersionCoverage,
    VersionProof,
)
from tripmargin.records.store.models.people import (
    AuditLine,
    Invitation,
    LimitedAct,
    Person,
    Role,
    SignInAttempt,
)

__all__ = [
    "AuditLine",
    "CaseLine",
    "Entry",
    "FaultCase",
    "Invitation",
    "LimitedAct",
    "Machine",
    "MachineVersion",
    "Person",
    "Photo",
    "Role",
    "SignInAttempt",
    "Standing",
    "TypeSheet",
    "TypeSheetVersion",
    "VersionCoverage",
    "VersionProof",
]
