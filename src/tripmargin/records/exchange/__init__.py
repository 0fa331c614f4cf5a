"""Records in and out: export and import, back-up and restore, moving to another database."""
