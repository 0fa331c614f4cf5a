"""The web app of the yard: thin pages over the rooms."""
