"""Pages of fault finding: one card at a time."""
