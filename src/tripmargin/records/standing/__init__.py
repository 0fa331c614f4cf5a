"""Reading: where each machine stands, what is due, what drifts, whom to visit first."""
