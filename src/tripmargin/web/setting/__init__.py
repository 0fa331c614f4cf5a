"""Pages on which a machine is set: its pawls step by step, its threshold on a curve."""
