"""Loops of which everything is known, and how `mixer measure` does on them."""
