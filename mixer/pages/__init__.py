"""Pictures and pages from plain data."""
