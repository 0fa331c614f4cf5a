"""Writing: every way that something gets into the records, each whole or not at all."""
