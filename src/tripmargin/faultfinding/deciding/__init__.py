"""Deciding: a fault-finding problem as arrays, beliefs, and the cheapest next action."""
