"""Noise of a quiet run: its floor, what turns with the roll, and how often it trips by itself."""

from tripmargin.recordings.noise.measuring import noise_of
from tripmargin.recordings.noise.result import Event, Noise, Order

__all__ = ["Event", "Noise", "Order", "noise_of"]
