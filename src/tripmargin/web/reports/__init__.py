"""Reports to fetch: about a machine, about a season of the fleet, about one's own practice."""
