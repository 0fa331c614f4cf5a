"""The phone card: one page for one machine that works without a network or a server."""
