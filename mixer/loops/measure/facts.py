"""What is measured of a sound file, as plain data: whoever only reads it loads nothing that listens."""

from __future__ import annotations

from dataclasses import field
from pathlib import Path

from mixer.loops.limits import Limits
from mixer.music.keys import Key
from mixer.record import record


@record
class Measured:
    """What was measured of a file.

    Parameters
    ----------
    path : the file
    tempo_bpm, bars, time, first_downbeat_seconds : how it is counted; None where it is no loop
    key : None where there is none
    chords : one a bar; empty where there are none
    role : drums, bass, harmony, melody, percussion, voice or background
    loudness_lufs, true_peak_dbtp : of the file
    seconds : its length
    sure : names of the answers that are sure
    others : other readings of an answer, likeliest first
    problems : what is wrong with it, kinds of problems with their facts
    limits : how far it may be stretched and transposed; None where that was not asked
    """

    path: Path
    tempo_bpm: float | None = None
    bars: int | None = None
    time: str | None = None
    first_downbeat_seconds: float | None = None
    key: Key | None = None
    chords: tuple[str, ...] = ()
    role: str | None = None
    loudness_lufs: float | None = None
    true_peak_dbtp: float | None = None
    seconds: float = 0.0
    sure: tuple[str, ...] = ()
    others: dict[str, tuple[object, ...]] = field(default_factory=dict)
    problems: tuple[tuple[str, dict[str, object]], ...] = ()
    limits: Limits | None = None

    @property
    def is_loop(self) -> bool:
        """Whether it was counted."""
        return self.tempo_bpm is not None
