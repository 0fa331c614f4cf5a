"""Starting the server: addresses, workers, static files."""
