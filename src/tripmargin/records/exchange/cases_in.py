"""Fault-finding cases of a JSON file, as the phone card writes them: each answer is kept once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from tripmargin.faultfinding.cases.case import ASIDE
from tripmargin.faultfinding.cases.case_file import first_line
from tripmargin.faultfinding.suspects.machine_problem import ASK
from tripmargin.ground.languages import say
from tripmargin.records.exchange.checking import Place, Places
from tripmargin.records.exchange.items import Item
from tripmargin.records.exchange.troubles import Troubles
from tripmargin.records.keeping.case_lines import By, InDatabase, case_file
from tripmargin.records.kinds import Wrong
from tripmargin.records.standing.refreshing import refresh
from tripmargin.records.store.models import FaultCase, Machine

MOST_LINES = 1000
LONGEST, LONGEST_ID = 1000, 200  # letters of a sentence; of a look's or a repair's id
KINDS = {"finding": "check", "repair": "repair", "hand over": ""}
"""What a line is, and under which name it says of what."""
STATUSES = ("open", "proving", "closed", "handed over")
OTHERS_WENT_ON = "mended"
"""Why answers are kept aside where somebody in the yard went on with the case meanwhile."""
_CASE = ("uid", "machine", "who", "digest", "begun", "status", "lines")
_LINE = (
    "uid", "at", "kind", "check", "repair", "word", "reading", "failed_at", "note", "why",
)  # fmt: skip


@dataclass(slots=True)
class ComingCase:
    """A case of a file: where it goes, and those of its answers that are not there yet."""

    machine: Machine
    uid: UUID
    who: str
    digest: str
    begun: str
    status: str
    lines: list[tuple[UUID, str, dict[str, Any]]]
    known: set[UUID] = field(default_factory=set)  # ids of all its answers, there already or not

    def write(self) -> None:
        """Add what is new: the case itself too where it is not there yet."""
        if not self.lines:
            return
        case = FaultCase.objects.select_for_update().filter(uid=self.uid).first() or self._begun()
        rows = case.lines.exclude(uid=None).values_list("uid", flat=True)
        late = any(uid not in self.known for uid in rows)
        for uid, kind, fields in self.lines:
            file = case_file(case, By(name=self.who, uid=uid))
            if late:
                of = fields.get("check", fields.get("repair", "hand over"))
                file.append(ASIDE, of=of, said=kind, why_late=OTHERS_WENT_ON, **fields)
            else:
                file.append(kind, **fields)
        if not late:
            asked = [fields["word"] for _, _, fields in self.lines if fields.get("check") == ASK]
            case.complaint = asked[-1] if asked else case.complaint
            case.status = self.status
            case.save(update_fields=["complaint", "status"])
        refresh(self.machine)

    def _begun(self) -> FaultCase:
        versions = self.machine.versions.defer("text", "copy").order_by("-number")
        version = versions.filter(digest=self.digest).first() or versions.first()
        case = FaultCase(
            uid=self.uid, machine=self.machine, version=version, begun_by_name=self.who
        )
        case.save(force_insert=True)
        head = {"machine_name": self.machine.name, "machine_digest": version.digest}
        head |= {"begun": self.begun} if self.begun else {}
        InDatabase(case, By(name=self.who)).write(first_line(head, str(case.uid)))
        return case


def coming_cases(
    items: Sequence[tuple[int, Any]], places: Places, troubles: Troubles
) -> list[ComingCase]:
    """The cases of a file; what is wrong goes to `troubles`."""
    found = [_case(given, line, places, troubles) for line, given in items]
    return [one for one in found if one is not None]


def _case(given: Any, line: int, places: Places, troubles: Troubles) -> ComingCase | None:
    item = Item(given, _CASE)
    uid = item.uid("uid", needed=True)
    place = places.of(item.text("machine", 100, needed=True))
    begun = item.moment("begun")
    status = item.text("status", 20) or "open"
    if status not in STATUSES:
        item.wrong.append(Wrong("status", status, say("no such state"), ", ".join(STATUSES)))
    lines = [
        _line(one, f"lines[{k}].", item.wrong)
        for k, one in enumerate(item.many("lines", MOST_LINES))
    ]
    if isinstance(place, Wrong):
        item.wrong.append(place)
    elif place.machine.pk is None or not place.machine.versions.exists():
        allowed = say("a machine whose file is in the records")
        item.wrong.append(Wrong("machine", place.machine.name, say("no file of it here"), allowed))
    case = FaultCase.objects.filter(uid=uid).first() if uid else None
    if case is not None and isinstance(place, Place) and case.machine_id != place.machine.pk:
        allowed = say("an id of its own")
        item.wrong.append(
            Wrong("uid", str(uid), say("the id of a case of another machine"), allowed)
        )
    troubles.note(line, item.wrong)
    if item.wrong or uid is None or not isinstance(place, Place):
        return None
    there = set(case.lines.exclude(uid=None).values_list("uid", flat=True)) if case else set()
    whole = [one for one in lines if one is not None]
    return ComingCase(
        machine=place.machine, uid=uid, who=item.text("who", 60), status=status,
        digest=item.text("digest", 64), begun=begun.isoformat() if begun else "",
        lines=[one for one in whole if one[0] not in there], known={one[0] for one in whole},
    )  # fmt: skip


def _line(given: Any, where: str, wrong: list[Wrong]) -> tuple[UUID, str, dict[str, Any]] | None:
    item = Item(given, _LINE, where)
    uid, at = item.uid("uid", needed=True), item.moment("at", needed=True)
    kind = item.text("kind", 20, needed=True)
    fields: dict[str, Any] = {}
    if kind not in KINDS:
        allowed = ", ".join(KINDS)
        item.wrong.append(Wrong(f"{where}kind", kind, say("no such kind of line"), allowed))
    elif kind == "hand over":
        fields["why"] = item.text("why", LONGEST)
    else:
        fields[KINDS[kind]] = item.text(KINDS[kind], LONGEST_ID, needed=True)
        fields["word"] = item.text("word", LONGEST_ID, needed=True)
    for key, value in (
        ("reading", item.number("reading")),
        ("failed_at", item.whole("failed_at")),
        ("note", item.text("note", LONGEST) or None),
        ("done_at", at.isoformat() if at else None),
    ):
        if value is not None:
            fields[key] = value
    wrong += item.wrong
    return None if item.wrong or uid is None else (uid, kind, fields)
