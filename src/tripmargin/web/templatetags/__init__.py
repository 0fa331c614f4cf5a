"""Words and small parts for templates."""
