"""Charts: the fault chart on paper, coverage, what looks alike, failure modes and effects."""
