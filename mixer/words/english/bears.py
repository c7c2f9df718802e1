"""How far a loop may be stretched and moved before it suffers, in words."""

from __future__ import annotations

# Slowest and fastest are the loop's own tempo where they differ by less.
NEAR_BPM = 0.5


def between(tempos_bpm: tuple[float, float]) -> str:
    """Say at which tempos a loop sounds well: "from 84 to 120 beats a minute"."""
    slowest, fastest = (round(tempo) for tempo in tempos_bpm)
    if tempos_bpm[1] - tempos_bpm[0] < NEAR_BPM:
        return f"only at {slowest} beats a minute"
    return f"from {slowest} to {fastest} beats a minute"


def semitones_told(semitones: int) -> str:
    """Give a distance, whichever way: "4 semitones"."""
    return f"{abs(semitones)} {'semitone' if abs(semitones) == 1 else 'semitones'}"


def up_to(semitones: tuple[int, int]) -> str:
    """Say how far down and up a loop may be moved: "up to 4 semitones lower or 5 higher"."""
    lower, higher = semitones
    if not lower and not higher:
        return "only at its own pitch"
    if not higher:
        return f"up to {semitones_told(lower)} lower, not higher"
    if not lower:
        return f"up to {semitones_told(higher)} higher, not lower"
    return f"up to {semitones_told(lower)} lower or {higher} higher"


def sentence(tempos_bpm: tuple[float, float], semitones: tuple[int, int] | None) -> str:
    """Say both: "Sounds well from 84 to 120 beats a minute, and up to 4 semitones lower or 5 higher."."""
    return f"Sounds well {between(tempos_bpm)}{f', and {up_to(semitones)}' if semitones else ''}."
