"""Cases: from a complaint to a repair that is proved, card by card, and kept."""
