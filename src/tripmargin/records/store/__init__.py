"""The tables: what is stored, and nothing about how it is shown."""
