"""How a machine stops, played: a page of its own, on a phone or a projector."""
