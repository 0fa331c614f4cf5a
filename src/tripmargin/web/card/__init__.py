"""The phone card from the yard, and what it brings back."""
