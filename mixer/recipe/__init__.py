"""Text to a Recipe and its problems."""
