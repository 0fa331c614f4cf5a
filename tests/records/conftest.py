"""Fixtures for the records."""

from tests.yard import person, postgres, records, sqlite_records, sqlite_with_tables

__all__ = ["person", "postgres", "records", "sqlite_records", "sqlite_with_tables"]
