"""How it works: one page that plays a machine's whole stop, without a network or a server."""
