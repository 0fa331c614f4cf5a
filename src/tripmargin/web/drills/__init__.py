"""Drills in the browser: practising alone, and a class in one room."""
