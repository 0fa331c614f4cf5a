"""A circuit's states as a deck for an outside circuit simulator, and its answer read back."""

import re
import subprocess

from tripmargin.circuit import GROUND, Contact, Diode, Resistive, Source


def deck(network, states):
    """The netlist of some states, (closed, blown, volts) each, side by side on one ground.

    The simulator finds by itself which diodes conduct.
    """
    nodes = [node for node in network.nodes if node != GROUND]
    names = [
        {node: f"n{k}s{s}" for k, node in enumerate(nodes)} | {GROUND: "0"}
        for s in range(len(states))
    ]
    lines = ["* states of one circuit"]
    for s, state in enumerate(states):
        lines += _elements(network, *state, names[s], s)
    lines += [".options gmin=1e-15 reltol=1e-9 abstol=1e-15 vntol=1e-9 itl1=500"]
    lines += [".control", "set numdgt=12", "op", "print all", ".endc", ".end"]
    return "\n".join(lines) + "\n", names


def _elements(network, closed, blown, volts, names, s):
    for k, part in enumerate(network.parts):
        p, n = names[part.p], names[part.n]
        if isinstance(part, Source):
            yield f"v{k}s{s} {p} {n} {volts if part.follows else part.volts!r}"
        elif isinstance(part, Contact):
            on = part.stuck if part.stuck is not None else part.name in closed
            yield f"r{k}s{s} {p} {n} {part.ohm if on else network.open_ohm!r}"
        elif isinstance(part, Diode):
            yield f"r{k}s{s} {p} {n} {network.open_ohm!r}"
            yield f"b{k}s{s} {p} {n} i=max(0,v({p},{n})-{part.forward!r})/{part.slope!r}"
        else:
            assert isinstance(part, Resistive)
            yield f"r{k}s{s} {p} {n} {network.open_ohm if part.name in blown else part.ohm!r}"


def voltages_of_states(program, folder, network, states):
    """Voltage of every node, V, in each of the states, as the simulator finds it."""
    text, names = deck(network, states)
    path = folder / "states.cir"
    path.write_text(text, encoding="utf-8")
    answer = subprocess.run(
        [program, "-b", str(path)], capture_output=True, text=True, check=False, timeout=60
    ).stdout
    found = dict(re.findall(r"^(n\d+s\d+) = (\S+)$", answer, flags=re.M))
    if not found and len(states) > 1:  # too many diodes to guess at once
        half = len(states) // 2
        parts = (states[:half], states[half:])
        return [
            each for part in parts for each in voltages_of_states(program, folder, network, part)
        ]
    assert len(found) == len(states) * (len(network.nodes) - 1), answer[-2000:]
    return [{node: float(found.get(name, 0.0)) for node, name in each.items()} for each in names]


def node_voltages(program, folder, network, closed, blown=(), volts=12.6):
    """Voltage of every node, V, in one state."""
    return voltages_of_states(program, folder, network, [(closed, blown, volts)])[0]
