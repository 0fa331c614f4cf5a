"""Every released shape of the tables, in order."""
