"""Machine files for tests: the contract's example, and small ones written on the spot."""

from __future__ import annotations

import os
from pathlib import Path

from tests.reference import ROOT, lacking


def plover_path() -> Path:
    """The contract's example; skip loudly where absent, fail under CI=true."""
    folder = os.environ.get("TRIPMARGIN_CONTRACT") or ROOT / ".." / "shared" / "contract"
    path = Path(folder) / "plover.toml"
    if not path.exists():
        lacking(f"the contract's plover.toml ({path}; TRIPMARGIN_CONTRACT names another folder)")
    return path


SMALL = """\
[machine]
name = "Knot"
[feed]
knives = 8
cutterhead_speed = "1000 rpm +- 2 %"
cut_lengths = ["5 mm", "10 mm"]
roll_diameter = "160 mm"
sensor_to_shear_bar = "260 mm"
[detector]
threshold = "1.5 V"
low_cut = "6 Hz"
high_cut = "160 Hz"
[[sensor.assemblies]]
centre = ["0 mm", "0 mm", "50 mm"]
magnet = { size = ["240 mm", "24 mm", "25 mm"], remanence = "0.38 T", direction = [0, 0, 1] }
[chain.hold_winding]
resistance = "18 ohm"
suppression = { kind = "diode", voltage = "0.8 V" }
[[chain.pawls]]
name = "lower"
clearance = "3.5 mm"
[[chain.pawls]]
name = "upper"
clearance = "3.5 mm"
"""


def written(folder: Path, text: str | bytes, name: str = "knot.toml") -> Path:
    """A file with this content."""
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path
