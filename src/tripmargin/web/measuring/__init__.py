"""Measuring a machine: test pieces passed, stops timed, what they tell, and keeping it."""
