"""Records: what happened, what is due, what drifts."""
