"""Pages about machines: the list, one machine, its versions, its protection map."""
