"""Two versions of a song: what changed from one to the other, in words and to hear; and a recipe that is watched."""
