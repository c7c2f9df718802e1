"""A problem as data, and the one place of all words that people read."""
