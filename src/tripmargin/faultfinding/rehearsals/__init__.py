"""Rehearsals: machines broken at random and looked for, and the paper sheet beside them."""
