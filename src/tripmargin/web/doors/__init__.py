"""Who comes in and what a browser may do: signing in, roles, headers, limits."""
