"""Suspects: what may be wrong, what each look would show, what mends it; read off the file."""
