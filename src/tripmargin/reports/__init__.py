"""Paper and the phone card."""
