"""Words on charts and on the page of a song."""

from __future__ import annotations

from collections.abc import Iterable

ROLE_SHORT = {
    "voice": "V.",
    "melody": "Mel.",
    "harmony": "Har.",
    "background": "Bg.",
    "bass": "Bs.",
    "percussion": "Perc.",
    "drums": "Dr.",
}
"""As the names of parts are shortened in scores (common practice, no source)."""

ENERGY = "energy"
FULLEST = "fullest"
MARKS = {"enters": "comes in", "leaves": "stops", "rests": "bars of rest", "louder": "grows louder", "softer": "fades"}
"""What the legend says of each mark."""


def fullest_at(bar: int) -> str:
    """Give where the song is fullest."""
    return f"fullest at bar {bar}"


def bars_and_length(bars: int, length: str) -> str:
    """Give `44 bars, 1:52`."""
    return f"{'1 bar' if bars == 1 else f'{bars} bars'}, {length}"


def described(bars: int, length: str, sections: Iterable[tuple[str, str, int]]) -> str:
    """Tell who cannot see a chart what it shows: the sections' letters, names and first bars."""
    parts = "; ".join(f"{letter}, {name}, from bar {first_bar}" for letter, name, first_bar in sections)
    return f"Chart of a song of {bars_and_length(bars, length)}. Sections: {parts}."


def sheet_of(title: str, number: int, count: int) -> str:
    """Give the head of a second sheet."""
    return f"{title} ({number} of {count})"


def meant(text: str) -> str:
    """Give what a section is meant to be, in quotation marks."""
    return f"“{text}”"


def wrong_ending(name: str) -> str:
    """Say which files there can be."""
    return f'a chart ends in .svg, .png, .pdf or .html, and "{name}" does not.'


def written(file: str, sheets: int) -> str:
    """Say where the chart is."""
    return f"The chart is in {file}" if sheets == 1 else f"The chart is in {file} ({sheets} sheets)"


def not_written(file: str, why: str) -> str:
    """Say that a file could not be written."""
    return f"{file} could not be written{f': {why}' if why else ''}. Choose another place with --out."


NO_PNG = (
    "A PNG needs Pillow, which is not installed here. Install it (pip install pillow), or choose a file that ends in "
    ".svg, .pdf or .html: those need nothing more."
)


def not_in_pdf(signs: str) -> str:
    """Say what the PDF cannot show."""
    return (
        f"The letters of a PDF are those of Western Europe: {_first(signs)} became dots in it. The same chart as .svg or .html "
        "shows every script; to have it on paper, print that."
    )


def not_in_png(signs: str) -> str:
    """Say what the picture cannot show."""
    return (
        f"The letters of this machine do not hold {_first(signs)}: there are boxes instead in the picture. The same chart "
        "as .svg or .html shows every script wherever there are letters for it."
    )


def _first(signs: str) -> str:
    return signs if len(signs) <= 20 else f"{signs[:20]} ..."


def text_head(title: str, by: str, tempo: str, key: str, time: str, length: str) -> str:
    """Give the line above a chart in text."""
    maker = f", by {by}" if by else ""
    return f"{title}{maker}: {', '.join([f'{tempo} beats a minute', *([key] if key else []), time, length])}"
