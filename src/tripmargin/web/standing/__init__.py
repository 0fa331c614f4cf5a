"""Pages of what is due and what drifts."""
