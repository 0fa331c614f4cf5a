"""Reading what stands under names of the person's own, and lists and tables of texts."""

from __future__ import annotations

from typing import Any

from tripmargin.ground.errors import nearest
from tripmargin.ground.languages import later, say
from tripmargin.machine.fields import Spec
from tripmargin.machine.reading import Findings, Path, dotted, read_table

NOT_CONNECTED = later("this terminal is not connected")
_NODE = later('the name of a node; "0" is the battery\'s negative post')


def read_named(spec: Spec, raw: Any, path: Path, found: Findings) -> tuple[Any, ...]:
    """Tables under names, each as its dataclass with the name in it."""
    if not isinstance(raw, dict) or not all(isinstance(item, dict) for item in raw.values()):
        found.add(path, raw, say("not tables under names"), f"[{dotted(path)}.NAME]")
        return ()
    made = []
    for name, item in raw.items():
        place = (*path, name)
        if spec.tables is not None and not _may_be_called(name, place, found):
            continue
        cls = _kind_of(spec, item, place, found)
        table = None if cls is None else read_table(cls, item, place, found)
        if table is not None:
            made.append(table.called(name))
    return tuple(made)


def _may_be_called(name: str, place: Path, found: Findings) -> bool:
    if name.strip() and not name.isdecimal() and "." not in name:
        return True
    found.add(
        place,
        name,
        say("a part's name may not be a number or hold a point"),
        say("a name such as K1 or F2"),
    )
    return False


def _kind_of(spec: Spec, item: dict[str, Any], place: Path, found: Findings) -> type | None:
    """The dataclass of a table by its field `kind`."""
    if spec.tables is None:
        return spec.table
    kind = item.get("kind")
    if isinstance(kind, str) and kind in spec.tables:
        return spec.tables[kind]
    near = nearest(str(kind), list(spec.tables))
    found.add(
        (*place, "kind"),
        kind,
        say("missing") if kind is None else say("there is no such kind of part"),
        " | ".join(spec.tables),
        say('Did you mean "{near}"?', near=near) if near else "",
    )
    return None


def read_texts(spec: Spec, raw: Any, path: Path, found: Findings) -> tuple[str, ...] | None:
    """A list of texts: the nodes that a part lies between, the positions of a switch."""
    if not isinstance(raw, list) or not raw or not all(isinstance(item, str) for item in raw):
        found.add(path, raw, say("not a list of texts"), spec.allowed())
        return None
    if spec.count is not None:
        if len(raw) != spec.count:
            what = (
                say(NOT_CONNECTED)
                if len(raw) == 1
                else say("{count} nodes, where a part has two", count=len(raw))
            )
            found.add(path, raw, what, say('two nodes such as ["30", "30f"]'))
            return None
        for end, node in enumerate(raw):
            if not node.strip():
                found.add((*path, end), node, say(NOT_CONNECTED), say(_NODE))
                return None
    for index, item in enumerate(raw):
        if spec.choices and item not in spec.choices:
            near = nearest(item, list(spec.choices))
            hint = say('Did you mean "{near}"?', near=near) if near else ""
            found.add((*path, index), item, say("not allowed here"), " | ".join(spec.choices), hint)
            return None
    return tuple(raw)


def read_words(
    spec: Spec, raw: Any, path: Path, found: Findings
) -> tuple[tuple[str, str], ...] | None:
    """A table of texts: the node at each terminal, the position of each switch."""
    if not isinstance(raw, dict):
        found.add(path, raw, say("not a table"), spec.allowed())
        return None
    count = len(found.problems)
    for key, value in raw.items():
        if spec.keys and key not in spec.keys:
            near = nearest(key, list(spec.keys))
            hint = say('Did you mean "{near}"?', near=near) if near else ""
            found.add(
                (*path, key), value, say("there is no such terminal"), ", ".join(spec.keys), hint
            )
        elif not isinstance(value, str) or not value.strip():
            what = say(NOT_CONNECTED) if spec.keys else say("not a text")
            found.add((*path, key), value, what, say(_NODE) if spec.keys else say("a text"))
    for key in spec.needs:
        if key not in raw:
            hint = say("Look at the housing: the number stands beside the pin.")
            found.add((*path, key), None, say(NOT_CONNECTED), say(_NODE), hint)
    return tuple(raw.items()) if len(found.problems) == count else None
