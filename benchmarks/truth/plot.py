"""Draws the chance that was given to answers against how often they were right, as an SVG picture."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

PICTURE = Path(__file__).with_name("confidence.svg")
SIDE, EDGE, LEAST = 360, 46, 0.3
GROUPS = 8
# Colours that are told apart by most eyes (Okabe and Ito 2008); each line has its own dashes too.
LOOKS = (
    ("#0072b2", ""),
    ("#d55e00", "8 3"),
    ("#009e73", "2 3"),
    ("#cc79a7", "10 3 2 3"),
    ("#000000", "5 5"),
    ("#b8860b", "1 4"),
)

Answers = Mapping[str, tuple[Sequence[bool], Sequence[float]]]


def draw(answers: Answers) -> None:
    """Write the picture; each answer's files are parted by chance into groups of one size.

    Parameters
    ----------
    answers : by name, whether each was right and what chance it was given
    """
    lines = [_axes()]
    for place, ((name, (right, chance)), (colour, dashes)) in enumerate(zip(answers.items(), LOOKS, strict=False)):
        parts = np.array_split(np.argsort(chance), GROUPS)
        points = [(float(np.mean(np.array(chance)[p])), float(np.mean(np.array(right, float)[p]))) for p in parts]
        shown = " ".join(f"{_x(chance):.1f},{_y(share):.1f}" for chance, share in points)
        style = f'fill="none" stroke="{colour}" stroke-width="2" stroke-dasharray="{dashes}"'
        y = EDGE + 14 + 20 * place
        lines += [
            f'<polyline points="{shown}" {style}/>',
            f'<path d="M{SIDE + EDGE + 14} {y - 4}h34" {style}/>',
            f'<text x="{SIDE + EDGE + 54}" y="{y}">{name} ({len(right)})</text>',
        ]
    size = f'width="{SIDE + EDGE + 190}" height="{SIDE + 2 * EDGE}"'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" {size} font-family="sans-serif" font-size="12">'
    white = '<rect width="100%" height="100%" fill="white"/>'
    PICTURE.write_text("\n".join([head, white, *lines, "</svg>\n"]), "utf-8")


def _x(chance: float) -> float:
    return EDGE + SIDE * (max(chance, LEAST) - LEAST) / (1 - LEAST)


def _y(share: float) -> float:
    return EDGE + SIDE * (1 - max(share, LEAST)) / (1 - LEAST)


def _axes() -> str:
    found = [f'<path d="M{_x(LEAST)} {_y(LEAST)}L{_x(1)} {_y(1)}" stroke="#999"/>']
    for tenth in range(round(10 * LEAST), 11):
        at = tenth / 10
        found += [
            f'<path d="M{_x(at)} {_y(LEAST)}v5M{_x(LEAST)} {_y(at)}h-5" stroke="black"/>',
            f'<text x="{_x(at)}" y="{_y(LEAST) + 18}" text-anchor="middle">{at:g}</text>',
            f'<text x="{_x(LEAST) - 8}" y="{_y(at) + 4}" text-anchor="end">{at:g}</text>',
        ]
    found += [
        f'<path d="M{_x(LEAST)} {_y(1)}V{_y(LEAST)}H{_x(1)}" fill="none" stroke="black"/>',
        f'<text x="{_x(0.65)}" y="{_y(LEAST) + 36}" text-anchor="middle">chance that was given</text>',
        f'<text x="{EDGE - 40}" y="{EDGE - 14}">part that was right (grey: as it should be)</text>',
    ]
    return "\n".join(found)
