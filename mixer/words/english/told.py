"""What commands say when all went well, and a song said back in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Protocol

from mixer.words.speech import bars, series


class EntryTold(Protocol):
    """A layer in a section."""

    @property
    def layer(self) -> str:
        """Its name."""

    @property
    def spans(self) -> tuple[tuple[int, int], ...]:
        """First and last bars in the section; empty for all of it."""


def minutes(seconds: float) -> str:
    """Give `1:32`."""
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02}"


def section_told(name: str, length: int, entries: Sequence[EntryTold]) -> str:
    """Give `verse, 8 bars: piano and drums; bass from bar 5`."""
    by_spans: dict[tuple[tuple[int, int], ...], list[str]] = {}
    for entry in sorted(entries, key=lambda entry: bool(entry.spans)):
        by_spans.setdefault(entry.spans, []).append(entry.layer)
    told = [f"{series(names)} {_when(spans, length)}".rstrip() for spans, names in by_spans.items()]
    return f"{name}, {bars(length)}: {'; '.join(told) or 'silence'}"


def _when(spans: Sequence[tuple[int, int]], length: int) -> str:
    return series(_span(first, last, length) for first, last in spans)


def _span(first: int, last: int, length: int) -> str:
    if first == last:
        return f"in bar {first} alone" if first < length else "in the last bar"
    if last == length:
        return f"from bar {first}"
    if first == 1:
        return f"up to bar {last}"
    return f"in bars {first} to {last}"


def song_told(title: str, length: str, count: int, tempo: float, key: str, time: str) -> str:
    """Give one line about the whole song."""
    facts = [length, bars(count), f"{tempo:g} beats a minute", time, *([key] if key else [])]
    return f"{title}: {', '.join(facts)}."


def rendered(
    song: str, length: str, loudness_lufs: float | None, true_peak_dbtp: float | None, *, draft: bool
) -> list[str]:
    """Say where the song is, how long and how loud."""
    what = "A draft of the song is in" if draft else "Your song is in"
    if loudness_lufs is None or true_peak_dbtp is None:
        return [f"{what} {song}", f"{length} long. It is silent."]
    if draft:
        return [f"{what} {song}", f"{length} long."]
    return [
        f"{what} {song}",
        f"{length} long, {loudness_lufs:.1f} LUFS, highest peak {true_peak_dbtp:.1f} dBTP.",
    ]


NEAR = "It could not be made as loud as other songs without spoiling its loudest moments. A level or two taken down would help."
NO_SONG = "No song was made."
NO_SONG_YET = "No song yet."
ALSO = "Worth a look (nothing was left out because of it):"
_MOST_LINES = 12


def left_out(lines: Sequence[str]) -> str:
    """Say which lines a draft does without; each is a line as `line_told` gives it."""
    more = len(lines) - _MOST_LINES
    if more > 1:
        lines = [*lines[:_MOST_LINES], f"{more} more"]
    what = "line" if len(lines) == 1 else "lines"
    return f"What could not be read in {what} {series(lines)} is not in it." if lines else "Something is not in it yet."


def line_told(line: int, file: str) -> str:
    """Give a line; of another file than the recipe with that file's name."""
    return f"{line} of {file}" if file else str(line)


def start_with(line: str, command: str) -> str:
    """Say the one thing to do first."""
    return (
        f"Start with line {line}: put it right, save, and {command} again."
        if line
        else f"Put it right, save, and {command} again."
    )


HEARING = "Start low, and turn up only until it is comfortable."


def made_new(folder: str, recipe: str, brief: str = "") -> list[str]:
    """Say what `new` made, the brief that it names, and what to do next."""
    typed = f'"{recipe}"' if " " in recipe else recipe
    return [
        f"{folder} is ready. Open {recipe} in a text editor, change it, and save it.",
        *([f"What the brief asks, and what the song does of it so far: mixer check {typed}"] if brief else []),
        f"To hear it: mixer render {typed}",
    ]


def is_there(folder: str) -> str:
    """Say that `new` does not write over anything."""
    return f'"{folder}" is there already, and nothing was changed. Choose another name.'


def loop_told(tempo: float, key: str, count: int, time: str, made_for: str) -> str:
    """Give what a list of loops says of one."""
    facts = [
        f"{tempo:g} beats a minute",
        key or "no key",
        bars(count),
        time,
        *([made_for] if made_for else []),
    ]
    return f"{facts[0]:<22} {facts[1]:<10} {facts[2]:<7} {facts[3]:<4} {''.join(facts[4:])}".rstrip()


def recipe_written(path: str) -> str:
    """Say where a song's recipe is now."""
    return f"The recipe of this song is in {path}"


def stems_written(count: int, folder: str) -> str:
    """Say where the layers are."""
    return f"Each of its {count} layers by itself is in {folder}"


def guide_written(place: str) -> str:
    """Say where the song with clicks and chimes is."""
    return f"With clicks on the beats and a chime at each section: {place}"


def song_credit(title: str, by: str) -> str:
    """Give who made a song."""
    return f"{title}, by {by}" if by else title


def loop_credit(name: str, maker: str, licence: str) -> str:
    """Give who made a loop, and under which licence it may be used."""
    by = f" by {maker}" if maker else ", maker unknown"
    return f"Loop {name}{by} ({licence or 'licence unknown: ask before you pass it on'})"


NO_CACHE = "Nothing is kept: MIXER_CACHE says so, or there is no folder for it."


def cache_told(count: int, size_bytes: int, most_bytes: int, folder: str) -> str:
    """Say what is kept and where."""
    if not size_bytes:
        return f"Nothing is kept yet. It would be in {folder}"
    what = "1 prepared loop is" if count == 1 else f"{count} prepared loops are"
    return f"{what} kept ({_megabytes(size_bytes)} of at most {_megabytes(most_bytes)}) in {folder}"


def cache_emptied(count: int, size_bytes: int, folder: str) -> str:
    """Say what was dropped."""
    if not size_bytes:
        return f"There was nothing to drop in {folder}"
    what = "1 prepared loop" if count == 1 else f"{count} prepared loops"
    return f"Dropped {what} ({_megabytes(size_bytes)}) from {folder}"


def cache_unusable(folder: str) -> str:
    """Say why nothing is kept although it could be."""
    return f"Nothing is kept: {folder} is no folder that is yours and closed to others. Songs are made all the same."


def _megabytes(size_bytes: int) -> str:
    return f"{size_bytes / 1e6:.1f} MB" if size_bytes < 10_000_000 else f"{size_bytes / 1e6:.0f} MB"


_QUESTIONS = {
    "class": "used in class",
    "parents": "played to parents",
    "home": "taken home inside a song",
    "on": "passed on",
}


def permissions(
    yes: Sequence[str], ask: Mapping[str, Sequence[str]], *, share_alike: bool, non_commercial: bool
) -> list[str]:
    """Say what the makers of a song's loops have said yes to, and what to ask.

    Parameters
    ----------
    yes : the questions that all of them answered with yes
    ask : for each other question the loops of which no answer is known
    """
    lines = []
    if yes:
        lines.append(f"The makers of the loops say that they may be {series(_QUESTIONS[each] for each in yes)}.")
    by_loops: dict[tuple[str, ...], list[str]] = {}
    for question, loops in ask.items():
        by_loops.setdefault(tuple(loops), []).append(_QUESTIONS[question])
    for loops, questions in by_loops.items():
        lines.append(_ask(series(loops), questions))
    if share_alike:
        lines.append("A song with these loops has to be passed on under the same licence (share-alike).")
    if non_commercial:
        lines.append("Nobody may earn money with a song with these loops (non-commercial).")
    return lines


def to_ask(questions: Sequence[str]) -> list[str]:
    """Say what to ask of one loop that is named already; nothing where all four questions are answered."""
    return [_ask("it", [_QUESTIONS[each] for each in questions])] if questions else []


def _ask(loops: str, questions: Sequence[str]) -> str:
    return f"Whether {loops} may be {series(questions, 'or')} is not known here: ask your school."


NO_SET = "of no set"
NO_LOOPS = "No loop has all of that."


def no_key(text: str) -> str:
    """Say what a key looks like."""
    return f'"{text}" is no key. Write it like "A minor" or "Eb major".'


RATES = "it is 44100 or 48000."
FLAC_BITS = "FLAC files have 16 or 24 bits for each sample."


def no_song_name(name: str) -> str:
    """Say how the names of songs end."""
    return f'a song ends in .wav, .flac, .ogg or .mp3, and "{name}" does not.'


def other_ending(name: str, ending: str) -> str:
    """Say that a name and the kind of file that is asked for do not agree."""
    return f'"{name}" does not end in .{ending}.'


def no_bits(kind: str) -> str:
    """Say that a kind of file has no bits to choose."""
    return f"{kind} files have no bits for each sample; leave it out."


def no_folder(name: str) -> str:
    """Say that songs cannot be put into a file."""
    return f'"{name}" is a file, not a folder.'
