"""The form of a song as a chart in plain text: 80 columns, no colour, to be printed or pasted anywhere.

As in a printed part: boxed letters with the sections' names, bar numbers, a line for each layer while it sounds
and counted rests while it does not; below, where it was measured, a line that is higher where the song is fuller.
"""

from __future__ import annotations

from collections.abc import Sequence

from mixer.words.columns import columns as columns_of
from mixer.words.english import chart as words

Section = tuple[str, str, int, int]  # letter, name, first bar, bars
Layer = tuple[str, Sequence[tuple[int, int]]]  # name, first and last bars heard
_LONGEST_NAME = 14
_ENERGY_ROWS = 4


def form_as_text(
    sections: Sequence[Section], layers: Sequence[Layer], columns: int = 80, energy: Sequence[float] = ()
) -> str:
    """Draw the form.

    Parameters
    ----------
    sections : letter, name, first bar and number of bars of each
    layers : name, and the first and last bars heard, counted in the song
    columns : how wide it may be
    energy : for each bar 0 to 1; empty where it was not measured
    """
    names = [*(name for name, _ in layers), *([words.ENERGY] if energy else [])]
    left = min(_LONGEST_NAME, max([columns_of(name) for name in names] + [3])) + 1
    width = _bar_width(sections, columns - left - 1)
    return "\n\n".join(
        "\n".join([*_system(system, layers, left, width), *_energy(system, energy, left, width)])
        for system in _systems(sections, (columns - left - 1) // width)
    )


def _bar_width(sections: Sequence[Section], room: int) -> int:
    """Columns for a bar: as many as let the whole song, or 16 bars of it, stand on one line."""
    bars = sum(section[3] for section in sections)
    return max(2, min(5, room // max(1, min(bars, 16))))


def _systems(sections: Sequence[Section], most_bars: int) -> list[list[Section]]:
    """Break the sections into lines of at most so many bars; a section that is longer goes on in the next."""
    systems: list[list[Section]] = [[]]
    room = most_bars
    for letter, name, first, bars in sections:
        if bars > room and systems[-1] and bars <= most_bars:
            systems.append([])
            room = most_bars
        start, left = first, bars
        while left:
            if room == 0:
                systems.append([])
                room = most_bars
            count = min(left, room)
            systems[-1].append((letter if start == first else "", name if start == first else "", start, count))
            start, left, room = start + count, left - count, room - count
    return systems


def _system(sections: Sequence[Section], layers: Sequence[Layer], left: int, width: int) -> list[str]:
    first, end = sections[0][2], sections[-1][2] + sections[-1][3]
    heads, numbers = " " * left, " " * left
    for letter, name, start, bars in sections:
        room = bars * width
        head = f"|[{letter}] {name}" if letter else "|"
        heads += _filled(_cut(head, room), room)
        numbers += f"|{start}"[:room].ljust(room)
    lines = [f"{heads}|", f"{numbers}|"]
    for name, heard in layers:
        lines.append(f"{_filled(_shortened(name, left - 1), left)}{_staff(sections, heard, first, end, width)}|")
    return [line.rstrip() for line in lines]


def _energy(sections: Sequence[Section], energy: Sequence[float], left: int, width: int) -> list[str]:
    """A line of steps, one for each bar; with a note where the song is fullest."""
    first, end = sections[0][2], sections[-1][2] + sections[-1][3]
    heights = [min(_ENERGY_ROWS - 1, int(value * _ENERGY_ROWS)) for value in energy[first - 1 : end - 1]]
    if not heights:
        return []
    lines = []
    fullest = max(range(len(energy)), key=lambda at: energy[at]) + 1
    if first <= fullest < end and max(energy) > min(energy):
        note = words.fullest_at(fullest)
        lines.append(" " * (left + min((fullest - first) * width + 1, max(1, len(heights) * width - len(note)))) + note)
    for row in reversed(range(_ENERGY_ROWS)):
        name = words.ENERGY if row == 0 else ""
        steps = "".join(("_" if height == row else " ") * width for height in heights)
        lines.append(f"{_filled(name, left)} {steps[:-1]}".rstrip())
    return lines


def _shortened(name: str, most: int) -> str:
    return name if columns_of(name) <= most else f"{_cut(name, most - 1)}~"


def _cut(text: str, most: int) -> str:
    """As much of a text as so many columns hold; wide letters take two, accents none."""
    while columns_of(text) > most:
        text = text[:-1]
    return text


def _filled(text: str, columns: int) -> str:
    return text + " " * (columns - columns_of(text))


def _staff(sections: Sequence[Section], heard: Sequence[tuple[int, int]], first: int, end: int, width: int) -> str:
    sounding = {bar for enter, leave in heard for bar in range(enter, leave + 1)}
    out = ""
    bar = first
    bar_lines = {section[2] for section in sections}
    while bar < end:
        stop = bar + 1
        while stop < end and (stop in sounding) == (bar in sounding) and stop not in bar_lines:
            stop += 1
        room = (stop - bar) * width - 1
        inner = "=" * room if bar in sounding else f" {stop - bar} ".center(room, "-") if room > 3 else "-" * room
        out += ("|" if bar in bar_lines else "=" if bar in sounding else "-") + inner
        bar = stop
    return out
