"""Finished songs from plain-text recipes of loops."""

__version__ = "0.1.0"
