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
from tripmargin.records.store.models.practices import (
    ClassDrill,
    ClassLearner,
    Practice,
    PracticeClass,
    PracticeMove,
    PracticeResult,
)

__all__ = [
    "AuditLine",
    "CaseLine",
    "ClassDrill",
    "ClassLearner",
    "Entry",
    "FaultCase",
    "Invitation",
    "LimitedAct",
    "Machine",
    "MachineVersion",
    "Person",
    "Photo",
    "Practice",
    "PracticeClass",
    "PracticeMove",
    "PracticeResult",
    "Role",
    "SignInAttempt",
    "Standing",
    "TypeSheet",
    "TypeSheetVersion",
    "VersionCoverage",
    "VersionProof",
]
