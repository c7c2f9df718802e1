"""Sentences about a song that was read: advice, and what render and check say."""
