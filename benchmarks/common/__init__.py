"""What the benchmarks share: taking turns, and saying a ratio."""
