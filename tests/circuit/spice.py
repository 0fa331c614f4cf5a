"""A circuit's state as a deck for an outside circuit simulator, and its answer read back."""

import re
import subprocess

from tripmargin.circuit import GROUND, Contact, Diode, Resistive, Source


def deck(network, closed, blown=(), volts=12.6):
    """The netlist of one state. The simulator finds by itself which diodes conduct."""
    names = {node: f"n{k}" for k, node in enumerate(network.nodes)}
    names[GROUND] = "0"
    lines = ["* one state"]
    for k, part in enumerate(network.parts):
        p, n = names[part.p], names[part.n]
        if isinstance(part, Source):
            level = volts if part.follows else part.volts
            lines.append(f"v{k} {p} {n} {level!r}")
        elif isinstance(part, Contact):
            on = part.stuck if part.stuck is not None else part.name in closed
            lines.append(f"r{k} {p} {n} {part.ohm if on else network.open_ohm!r}")
        elif isinstance(part, Diode):
            lines.append(f"r{k} {p} {n} {network.open_ohm!r}")
            lines.append(f"b{k} {p} {n} i=max(0,v({p},{n})-{part.forward!r})/{part.slope!r}")
        else:
            assert isinstance(part, Resistive)
            ohm = network.open_ohm if part.name in blown else part.ohm
            lines.append(f"r{k} {p} {n} {ohm!r}")
    lines += [".options gmin=1e-15 reltol=1e-9 abstol=1e-15 vntol=1e-9 itl1=500"]
    lines += [".control", "set numdgt=12", "op", "print all", ".endc", ".end"]
    return "\n".join(lines) + "\n", names


def node_voltages(program, folder, network, closed, blown=(), volts=12.6):
    """Voltage of every node, V, as the simulator finds it."""
    text, names = deck(network, closed, blown, volts)
    path = folder / "state.cir"
    path.write_text(text, encoding="utf-8")
    answer = subprocess.run(
        [program, "-b", str(path)], capture_output=True, text=True, check=False, timeout=30
    ).stdout
    found = dict(re.findall(r"^(n\d+) = (\S+)$", answer, flags=re.M))
    assert len(found) == len(names) - 1, answer[-2000:]
    return {node: float(found.get(name, 0.0)) for node, name in names.items()}
