"""Instruments: each turns a stroke into sound, shape (frames,) or (frames, 2), peak near 1 for a full stroke."""
