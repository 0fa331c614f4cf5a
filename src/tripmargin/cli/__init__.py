"""The command line: each command parses, calls one room, and shows what it answers."""
