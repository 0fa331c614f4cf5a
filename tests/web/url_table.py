"""Who may open which address: one line for each, thought about when the page is made.

Name of the address: the role needed to read it (GET), the role needed to write (POST), and what
stands in it. `NO` where the method is not offered. A word for a part stands for a thing of the
test's small world: "machine", "entry", "case", "person", "token", "none" (an id of nothing).
"""

from __future__ import annotations

from typing import Any

NO = None
ANYBODY, LOOK, LOG, SET, OWN = range(5)

MACHINE, ENTRY, CASE = {"uid": "machine"}, {"uid": "entry"}, {"uid": "case"}
PERSON = {"pk": "person"}
CLASS = {"uid": "none"}
PRACTICE = {"uid": "none"}  # another one's is found no more than none at all

URLS: dict[str, tuple[int | None, int | None, dict[str, Any]]] = {
    # machines
    "machines": (LOOK, NO, {}),
    "machines-away": (LOOK, NO, {}),
    "machine-add": (SET, SET, {}),
    "machine-demo": (NO, SET, {"name": "curlew"}),
    "machine-guided": (SET, SET, {}),
    "machine-guided-check": (NO, SET, {}),
    "machine-guided-file": (SET, SET, {}),
    "machine-guided-add": (NO, SET, {}),
    "machine-guided-over": (NO, SET, {}),
    "machine-questions": (SET, NO, MACHINE),
    "machine": (LOOK, NO, MACHINE),
    "machine-turned": (LOOK, NO, MACHINE),
    "machine-because": (LOOK, NO, MACHINE),
    "machine-keep": (SET, SET, MACHINE),
    "machine-reach": (LOOK, NO, MACHINE),
    "machine-piece-reach": (LOOK, NO, MACHINE),
    "machine-feed": (LOOK, NO, MACHINE),
    "machine-file": (LOOK, SET, MACHINE),
    "machine-version": (LOOK, NO, {"uid": "machine", "number": 1}),
    "machine-compare": (LOOK, NO, MACHINE),
    "machine-put-away": (NO, OWN, MACHINE),
    "type-sheets": (LOOK, SET, {}),
    "type-sheet": (LOOK, NO, {"name": "trailed.toml"}),
    "type-sheet-take": (NO, SET, MACHINE),
    # log
    "machine-log": (LOOK, NO, MACHINE),
    "machine-log-export": (LOOK, NO, {"uid": "machine", "ending": "csv"}),
    "log-exchange": (LOOK, OWN, {}),
    "log-export": (LOOK, NO, {"ending": "json"}),
    "machine-gaps": (SET, SET, MACHINE),
    "new-entry": (LOG, LOG, {"uid": "machine", "kind": "note"}),
    "entry": (LOOK, NO, ENTRY),
    "correct-entry": (LOG, LOG, ENTRY),
    "withdraw-entry": (LOG, LOG, ENTRY),
    "photo": (LOOK, NO, {"uid": "none"}),
    "small-photo": (LOOK, NO, {"uid": "none"}),
    "outbox": (ANYBODY, NO, {}),
    "offline": (ANYBODY, NO, {}),
    "worker": (ANYBODY, NO, {}),
    # standing
    "due": (LOOK, NO, {}),
    "fleet": (LOOK, NO, {}),
    "machine-drift": (LOOK, NO, MACHINE),
    # what is wrong
    "machine-wrong": (LOOK, LOG, MACHINE),
    "case": (LOOK, NO, CASE),
    "case-reading": (LOOK, NO, CASE),
    "case-news": (LOOK, NO, CASE),
    "case-answer": (NO, LOG, CASE),
    "case-undo": (NO, LOG, CASE),
    "case-redo": (NO, LOG, CASE),
    "case-version": (NO, LOG, CASE),
    "case-late": (LOOK, LOG, {"uid": "case", "n": 1}),
    # measuring
    "machine-measure": (LOOK, NO, MACHINE),
    "machine-learned": (LOOK, NO, MACHINE),
    "machine-learned-proved": (LOOK, NO, MACHINE),
    "machine-learned-keep": (SET, SET, MACHINE),
    "machine-stop": (LOG, LOG, MACHINE),
    "machine-stop-frames": (LOG, LOG, MACHINE),
    "machine-stop-found": (LOG, LOG, {"uid": "machine", "upload": "none"}),
    "machine-noise": (LOG, LOG, MACHINE),
    "machine-noise-found": (LOG, LOG, {"uid": "machine", "upload": "none"}),
    "machine-pieces": (LOOK, LOG, MACHINE),
    # setting
    "machine-set-pawls": (LOG, LOG, MACHINE),
    "machine-set-threshold": (LOOK, NO, MACHINE),
    "machine-set-threshold-keep": (SET, SET, MACHINE),
    # card
    "machine-card": (LOOK, LOG, MACHINE),
    "machine-card-file": (LOOK, NO, MACHINE),
    # how it works
    "machine-how": (LOOK, NO, MACHINE),
    "machine-how-play": (LOOK, NO, MACHINE),
    # reports
    "machine-reports": (LOOK, NO, MACHINE),
    "machine-report": (LOOK, NO, {"uid": "machine", "kind": "daily-check"}),
    "fleet-reports": (LOOK, NO, {}),
    "season-report": (LOOK, NO, {}),
    "training-record": (LOOK, NO, {}),
    # drills
    "practise": (LOOK, NO, {}),
    "practise-results": (LOOK, NO, {}),
    "demo-practise": (LOOK, LOOK, {"name": "curlew"}),
    "machine-practise": (LOOK, LOOK, MACHINE),
    "practice": (LOOK, NO, PRACTICE),
    "practice-move": (NO, LOOK, PRACTICE),
    "practice-reading": (LOOK, NO, PRACTICE),
    "practice-wiring": (LOOK, NO, PRACTICE),
    "practice-file": (LOOK, NO, PRACTICE),
    "practice-again": (NO, LOOK, PRACTICE),
    "practice-next": (NO, LOOK, PRACTICE),
    "classes": (SET, NO, {}),
    "class-new": (SET, SET, {}),
    "class": (SET, NO, CLASS),
    "class-change": (NO, SET, CLASS),
    "class-board": (SET, NO, CLASS),
    "class-results": (SET, NO, CLASS),
    "class-records": (SET, NO, CLASS),
    "class-look": (SET, NO, CLASS | {"practice": PRACTICE["uid"]}),
    # a class for those who learn in it: whoever has not joined is sent to its door
    "class-door": (ANYBODY, ANYBODY, {}),
    "class-join": (ANYBODY, ANYBODY, {"code": "token"}),
    "class-room": (ANYBODY, NO, {}),
    "class-own-results": (ANYBODY, NO, {}),
    "class-begin": (NO, ANYBODY, {"number": 1}),
    "class-practice": (ANYBODY, NO, PRACTICE),
    "class-move": (NO, ANYBODY, PRACTICE),
    "class-reading": (ANYBODY, NO, PRACTICE),
    "class-wiring": (ANYBODY, NO, PRACTICE),
    # doors
    "sign-in": (ANYBODY, ANYBODY, {}),
    "again": (LOOK, LOOK, {}),
    "sign-out": (NO, ANYBODY, {}),
    "join": (ANYBODY, ANYBODY, {"token": "token"}),
    "sun": (NO, ANYBODY, {}),
    "language": (NO, ANYBODY, {}),
    "you": (LOOK, NO, {}),
    "you-units": (NO, LOOK, {}),
    "you-password": (NO, LOOK, {}),
    "you-sign-out": (NO, LOOK, {}),
    "people": (OWN, NO, {}),
    "changes": (OWN, NO, {}),
    "invite": (OWN, OWN, {}),
    "invitation-back": (NO, OWN, {"pk": 1}),
    "person": (OWN, NO, PERSON),
    "person-role": (NO, OWN, PERSON),
    "person-switch": (NO, OWN, PERSON),
    "person-password": (NO, OWN, PERSON),
    "person-sign-out": (NO, OWN, PERSON),
}
