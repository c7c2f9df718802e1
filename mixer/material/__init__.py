"""A layer's source made to fit the song's tempo and key."""
