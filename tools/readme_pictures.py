"""Draw the README's pictures from the demo machines: the map, the race and the reach map.

Not checked for staleness byte by byte: the last digits of a path differ between processors.
"""

from __future__ import annotations

from pathlib import Path

import tripmargin as tm
from tripmargin import pictures

FOLDER = Path(__file__).resolve().parents[1] / "docs" / "pictures"


def main() -> None:
    whimbrel = tm.load_machine("whimbrel")
    proof = tm.prove(whimbrel)
    dunlin = tm.load_machine("dunlin")
    drawn = {
        "protection-map.svg": pictures.protection_map_picture(proof.protection_map),
        "race.svg": pictures.race_picture(
            tm.protection.race(whimbrel, cut_length=0.028, piece=tm.sensing.Piece.ball(0.02))
        ),
        "reach-map.svg": pictures.reach_picture(tm.sensing.reach(dunlin, speed=1.0)),
    }
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, svg in drawn.items():
        pictures.save_picture(FOLDER / name, svg=svg)
        print(f"drew {(FOLDER / name).relative_to(FOLDER.parents[1])}")


if __name__ == "__main__":
    main()
