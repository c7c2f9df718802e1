"""What can be heard of a loop: its bars and tempo, key and chords, role, level, and what is wrong with it."""
