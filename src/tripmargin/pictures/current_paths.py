"""The circuit at a step as current paths between the rails: what is live and what it shows."""

from __future__ import annotations

from collections import Counter
from itertools import accumulate

from tripmargin.circuit import Network, State
from tripmargin.circuit.parts import original
from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.pictures.circuit_symbols import Standing
from tripmargin.pictures.current_paths_grid import strip_of
from tripmargin.pictures.current_paths_key import draw_key
from tripmargin.pictures.current_paths_layout import Path, groups_of, heights_of, strips_of
from tripmargin.pictures.current_paths_strip import NARROWEST_PITCH, Scene, StripPicture
from tripmargin.pictures.current_paths_words import (
    check_fits,
    differences,
    flow_of,
    mark_of,
    said_of,
    shows_of,
    step_words,
)
from tripmargin.pictures.page import Cell, Table
from tripmargin.pictures.sheet import Sheet
from tripmargin.pictures.words import SAFETY, said

_READ_IT = later(
    "current runs from the rails on top, each with its number, through the parts below to the "
    "ground rails. Numbers along the bottom count the current paths. A dot joins lines; lines that "
    "cross without a dot do not touch. An open ring ends a path: the node named there is drawn "
    "elsewhere too. Voltages count from the battery's negative post."
)

_BEFORE = later(
    "Before hands go near wiring: engine off, key out, everything at rest, stored energy released,"
    " feed rolls blocked."
)


def current_paths_picture(
    network: Network,
    state: State,
    *,
    width: float = 1200,
    sun: bool = False,
    healthy: State | None = None,
) -> str:
    """The circuit at a step as SVG: every part once, in its current path, live parts marked.

    Parameters
    ----------
    network : Network
    state : State
        A step of this network.
    width : float, px
        From 280 to 4000. About 1800 suits A3 across, 400 a phone.
    sun : bool
        Greatest contrast, for reading outdoors.
    healthy : State, optional
        The same step of the sound machine: parts that show something else are ringed and named.

    Returns
    -------
    str
        An SVG document.

    Raises
    ------
    ValueError
        If the width is out of range, or the state lacks a node or a part of this network.

    Examples
    --------
    >>> from tripmargin.circuit import network_from_machine, operate
    >>> from tripmargin.machine import load_machine
    >>> network = network_from_machine(load_machine("dunlin"))
    >>> current_paths_picture(network, operate(network)["metal"]).startswith("<svg")
    True
    """
    check_fits(network, state)
    sheet = Sheet(width, sun)
    title = say('The circuit in step "{step}"', step=as_written(state.step))
    sheet.paragraph(title, sheet.type.title, bold=True)
    sheet.paragraph(say(_BEFORE), sheet.type.body, bold=True)
    sheet.paragraph(say(SAFETY), sheet.type.body)
    sheet.y += 4
    columns = max(int(sheet.inner // NARROWEST_PITCH), 1)
    height, rails = heights_of(network)
    strips = strips_of(groups_of(network, height, rails), columns)
    other = [] if healthy is None else differences(network, state, healthy)
    scene = _scene(network, state, strips, frozenset(name for name, _, _ in other))
    starts = accumulate((len(strip) for strip in strips), initial=1)
    for paths, first in zip(strips, starts, strict=False):
        pitch = sheet.inner / columns
        StripPicture(sheet, strip_of(paths, rails), scene, first, pitch).draw()
        sheet.y += 10
    says = step_words(network, state, (*rails.top, *rails.bottom)[0])
    sheet.paragraph(says, sheet.type.body)
    differs = ""
    if healthy is not None:
        differs = _differs_words(other)
        sheet.paragraph(differs, sheet.type.body, bold=bool(other))
    draw_key(sheet, network, ringed=bool(other))
    sheet.footer(say(_READ_IT), ())
    live = [name for name, each in scene.standings.items() if each.mark == "live"]
    carry = say("No part carries current.")
    if live:
        carry = say("Parts that carry current: {parts}.", parts=", ".join(map(as_written, live)))
    return sheet.done(title, f"{says} {differs} {carry}")


def current_paths_table(network: Network, state: State) -> Table:
    """One row for each part, in the network's order.

    Returns
    -------
    (headers, rows)
        Current in A from `from` to `to`, inside the part; voltage in V of `from` over `to`; `live`
        is "yes" where the current matters.

    Raises
    ------
    ValueError
        If the state lacks a node or a part of this network.
    """
    check_fits(network, state)
    headers = (
        later("part"), later("kind"), later("from"), later("to"), later("current_A"),
        later("voltage_V"), later("live"), later("shows"),
    )  # fmt: skip
    rows: list[list[Cell]] = [
        [
            part.name,
            said(original(part).kind),
            part.p,
            part.n,
            float(flow_of(part, state)),
            float(state.voltages[part.p] - state.voltages[part.n]),
            "yes" if mark_of(part, state) == "live" else "no",
            said_of(part, network, state),
        ]
        for part in network.parts
    ]
    return headers, rows


def _scene(
    network: Network, state: State, strips: list[tuple[Path, ...]], differing: frozenset[str]
) -> Scene:
    ends = Counter(node for part in network.parts for node in (part.p, part.n))
    paths = [path for strip in strips for path in strip]
    node_paths: dict[str, list[int]] = {}
    standings = {}
    for number, path in enumerate(paths, start=1):
        for node in dict.fromkeys(path.nodes):
            node_paths.setdefault(node, []).append(number)
        for leg in path.legs:
            part = leg.part
            standings[part.name] = Standing(
                original(part),
                mark_of(part, state),
                shows_of(part, network, state),
                part.p == leg.upper,
            )
    carry = (part for part in network.parts if mark_of(part, state) == "live")
    live_nodes = frozenset(node for part in carry for node in (part.p, part.n))
    return Scene(state, standings, node_paths, ends, live_nodes, differing)


def _differs_words(other: list[tuple[str, str, str]]) -> str:
    if not other:
        return say("Nothing shows differently from a sound machine in this step.")
    parts = "; ".join(
        say("{part} {now}, not {sound}", part=as_written(name), now=now, sound=sound)
        for name, now, sound in other
    )
    return say("Different from a sound machine: {parts}.", parts=parts)
