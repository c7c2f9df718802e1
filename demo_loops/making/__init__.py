"""How the demo loops are made: instruments, rooms, scores, and a player for any tempo and key.

`play(name, tempo_bpm, semitones, rate_hz)` gives the sound, `notes(name)` the exact onsets, `LOOPS` what is written.
"""

from demo_loops.making.playing import notes, play
from demo_loops.making.scores import LOOPS

__all__ = ["LOOPS", "notes", "play"]
