"""What the sensor sees: magnets, keeper, windings, pieces, a pass, the detector, reach."""

from tripmargin.sensing.blind_spots import BlindSpot
from tripmargin.sensing.comparing import MaterialSignal, material_signals, upside_down
from tripmargin.sensing.demagnetizing import demagnetizing_factors, polarizability
from tripmargin.sensing.detector import Filter
from tripmargin.sensing.eddy import sphere_polarizability
from tripmargin.sensing.noise import crossing_chance, false_trips_per_hour, level_crossings
from tripmargin.sensing.passing import Pass, simulate_pass
from tripmargin.sensing.piece_reach import PieceReach, piece_reach
from tripmargin.sensing.pieces import Piece
from tripmargin.sensing.reaching import Reach, reach
from tripmargin.sensing.sensor import sensor_fields
from tripmargin.sensing.tables import Passes, passes

__all__ = [
    "BlindSpot",
    "Filter",
    "MaterialSignal",
    "Pass",
    "Passes",
    "Piece",
    "PieceReach",
    "Reach",
    "crossing_chance",
    "demagnetizing_factors",
    "false_trips_per_hour",
    "level_crossings",
    "material_signals",
    "passes",
    "piece_reach",
    "polarizability",
    "reach",
    "sensor_fields",
    "simulate_pass",
    "sphere_polarizability",
    "upside_down",
]
