"""Pages of the log: what happened, entered on a phone."""
