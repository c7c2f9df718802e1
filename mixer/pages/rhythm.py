"""A loop's rhythm as a printed picture: one line, bars, a note where something begins.

Notes stand where they are heard (proportional notation), so that swing and a late hand can be seen; those of one beat
are beamed together, with a second beam where they are closer than a third of a beat. A filled head is soft or usual, a
wedge above it (an accent) strong. Black on white, drawn with attributes only, so that no style is needed.
"""

from __future__ import annotations

import html
from collections.abc import Sequence
from itertools import pairwise

WIDTH, HEIGHT = 1000, 64
LEFT, RIGHT, LINE, STEM = 44, 8, 42, 28
MOST_BARS = 4
ACCENT = 0.8
# What is so much before a beat belongs to it.
EARLY_BEATS = 0.08

Onset = tuple[float, float]


def rhythm_svg(onsets: Sequence[Onset], bars: int, beats_per_bar: int, time: str, told: str) -> str:
    """Draw a rhythm.

    Parameters
    ----------
    onsets : beat from the first downbeat, and strength 0 to 1, sorted
    bars, beats_per_bar : how it is counted; of more than four bars the first four are drawn
    time : the time signature, such as 6/8
    told : what the picture shows, for those who do not see it
    """
    shown = min(bars, MOST_BARS)
    beats = shown * beats_per_bar
    step = (WIDTH - LEFT - RIGHT) / beats
    upper, _, lower = time.partition("/")
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}"'
        f' role="img" aria-label="{html.escape(told, quote=True)}">',
        f'<line x1="4" y1="{LINE}" x2="{WIDTH - RIGHT}" y2="{LINE}" stroke="#000" stroke-width="1"/>',
        f'<rect x="8" y="{LINE - 8}" width="3" height="16"/><rect x="13" y="{LINE - 8}" width="3" height="16"/>',
        _text(28, LINE - 2, upper, 18),
        _text(28, LINE + 14, lower, 18),
    ]
    for beat in range(beats + 1):
        x = LEFT + beat * step - 7
        if beat % beats_per_bar == 0 and beat:
            wide = beat == beats and bars <= MOST_BARS
            parts.append(f'<line x1="{x:.1f}" y1="{LINE - 12}" x2="{x:.1f}" y2="{LINE + 12}" stroke="#000"/>')
            parts += [f'<rect x="{x + 3:.1f}" y="{LINE - 12}" width="3" height="24"/>'] if wide else []
        if beat % beats_per_bar == 0 and beat < beats:
            parts.append(_text(x + 9, 12, str(beat // beats_per_bar + 1), 11))
    groups: dict[int, list[Onset]] = {}
    for at, strength in onsets:
        if -EARLY_BEATS <= at < beats - EARLY_BEATS:
            groups.setdefault(int(at + EARLY_BEATS), []).append((at, strength))
    for group in groups.values():
        parts += _beamed([(LEFT + at * step, strength) for at, strength in group], step)
    return "".join([*parts, "</svg>"])


def _beamed(notes: Sequence[tuple[float, float]], step: float) -> list[str]:
    """The notes of one beat."""
    top = LINE - STEM
    parts = []
    for x, strength in notes:
        parts.append(
            f'<ellipse cx="{x:.1f}" cy="{LINE}" rx="4.6" ry="3.4" transform="rotate(-20 {x:.1f} {LINE})"/>'
            f'<line x1="{x + 4:.1f}" y1="{LINE - 1}" x2="{x + 4:.1f}" y2="{top}" stroke="#000" stroke-width="1.2"/>'
        )
        if strength > ACCENT:
            parts.append(f'<path d="M{x - 4:.1f},{LINE + 9} l9,3 l-9,3" fill="none" stroke="#000" stroke-width="1.1"/>')
    for (left, _), (right, _) in pairwise(notes):
        width = right - left + (1.2 if right == notes[-1][0] else 0)
        parts.append(f'<rect x="{left + 3.4:.1f}" y="{top}" width="{width:.1f}" height="3.4"/>')
        if right - left < step / 3:
            parts.append(f'<rect x="{left + 3.4:.1f}" y="{top + 5}" width="{width:.1f}" height="3.4"/>')
    return parts


def _text(x: float, y: float, text: str, size: int) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size}" text-anchor="middle" font-family="Georgia, serif"'
        f' font-weight="{"bold" if size > 12 else "normal"}">{html.escape(text)}</text>'
    )
