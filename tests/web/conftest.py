"""Fixtures for the web app."""

from tests.yard import (
    browser_as,
    person,
    postgres,
    records,
    sqlite_records,
    sqlite_with_tables,
)

__all__ = ["browser_as", "person", "postgres", "records", "sqlite_records", "sqlite_with_tables"]
