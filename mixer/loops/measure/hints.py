"""What a file's name and tags say about it: "96bpm", "Am", "8 bars". A hint, weighed and told, never believed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import fields
from pathlib import Path

from mixer.loops.catalog import ROLES
from mixer.music.keys import Key, parse_key
from mixer.record import record

_ROLE_WORDS = {
    "drum": "drums",
    "drums": "drums",
    "beat": "drums",
    "kit": "drums",
    "bass": "bass",
    "chord": "harmony",
    "chords": "harmony",
    "pad": "harmony",
    "piano": "harmony",
    "strum": "harmony",
    "lead": "melody",
    "melody": "melody",
    "tune": "melody",
    "perc": "percussion",
    "percussion": "percussion",
    "shaker": "percussion",
    "vocal": "voice",
    "vocals": "voice",
    "voice": "voice",
    "choir": "voice",
    "rain": "background",
    "atmosphere": "background",
}


@record
class Hints:
    """What a name says.

    Parameters
    ----------
    tempo_bpm, bars, key, role : None where it says nothing
    """

    tempo_bpm: float | None = None
    bars: int | None = None
    key: Key | None = None
    role: str | None = None


def all_hints(path: Path) -> list[Hints]:
    """Read what a file's name says, and each of its tags; they may contradict each other."""
    from mixer.signal.said import said_in  # noqa: PLC0415 - a name alone is read without it

    said = said_in(path)
    in_fields = Hints(_tempo_said(said.get("tempo", "")), None, _key_said(said.get("key", "")), None)
    return [hints_in(path.stem), in_fields, hints_in(said.get("title", "")), hints_in(said.get("comment", ""))]


def together(found: Iterable[Hints]) -> Hints:
    """Give of each fact the first that says it: what a name leaves open, the tags may say."""
    said = {field.name: [getattr(one, field.name) for one in found] for field in fields(Hints)}
    return Hints(
        **{name: next((value for value in values if value is not None), None) for name, values in said.items()}
    )


def _tempo_said(text: str) -> float | None:
    """A number alone, as the field for a tempo has it; 0 is written where nobody knows."""
    found = re.fullmatch(r"(\d{2,3}(?:[.,]\d{1,4})?)(?: ?bpm)?", text.strip(), re.IGNORECASE)
    return float(found[1].replace(",", ".")) if found else None


def _key_said(text: str) -> Key | None:
    """A key as the field for it has it: `Am`, `F#`, `Bbm`, where a letter alone is major; `o` is none."""
    text = text.strip().replace("♯", "#").replace("♭", "b")
    return parse_key(text) or (parse_key(f"{text} major") if re.fullmatch(r"[A-Ga-g][#b]?", text) else None)


def hints_in(stem: str) -> Hints:
    """Read a file's name without its ending.

    A number alone is a tempo only where it stands apart and is one that music has; "bpm" makes any number one.
    """
    text = re.sub(r"[_\-]+", " ", stem)
    tempo = re.search(r"(?i)(?<![\d.])(\d{2,3}(?:[.,]\d{1,2})?) ?bpm\b", text)
    tempo = tempo or re.search(r"(?i)\bbpm ?(\d{2,3}(?:[.,]\d{1,2})?)\b", text)
    tempo = tempo or re.search(
        r"(?<=[A-Za-z] )([6-9]\d|1[0-7]\d)(?= |$)", re.sub(r"(?i)\b(take|audio|rec|no) \d+", "", text)
    )
    bars = re.search(r"(?i)\b(\d{1,2}) ?bars?\b", text)
    words = [word.lower() for word in re.findall(r"[A-Za-z]+", text)]
    roles = [_ROLE_WORDS.get(word, word) for word in words if _ROLE_WORDS.get(word, word) in ROLES]
    return Hints(
        float(tempo[1].replace(",", ".")) if tempo else None,
        int(bars[1]) if bars and 1 <= int(bars[1]) <= 64 else None,
        _key_in(text),
        roles[0] if roles else None,
    )


def _key_in(text: str) -> Key | None:
    """Find a key: `Am`, `F# minor`, `Ebmaj`; a bare large letter after the first word is major (`C`)."""
    for found in re.finditer(r"(?:^|(?<= ))([A-G][#b♯♭]?) ?(minor|major|min|maj|m)?(?= |$)", text):
        if found[2] or found.start():
            key = parse_key(f"{found[1]} {found[2] or 'major'}")
            if key and (found[2] or found[1] != "A"):  # "A" alone is more often a word
                return key
    return None
