"""A drawn song in the two spellings of the language, and in other dress: `short`, `long`, `dressed`."""

from __future__ import annotations

import re

from tests.recipe.drawn import DrawnSection, DrawnSong, Spans


def said(pairs: Spans) -> str:
    return ", ".join(f"{a}-" if b is None else f"{a}" if a == b else f"{a}-{b}" for a, b in pairs)


def _head(song: DrawnSong) -> list[str]:
    return [f"title: {song.title}", f"tempo: {song.tempo}", *(f"{word}: {value}" for word, value in song.top.items())]


def _listed(section: DrawnSection, *, without: bool) -> str:
    who = ["nothing"] if section.nothing else []
    who += [f"everything {said(section.everything)}".rstrip()] if section.everything is not None else []
    who += [f"{each.layer} {said(each.spans)}".rstrip() for each in section.entries or ()]
    who += [f"without {_taken(section)}"] if without and section.without else []
    return ", ".join(who)


def _taken(section: DrawnSection) -> str:
    return ", ".join(f"{layer} {said(pairs)}".rstrip() for layer, pairs in section.without)


def short(song: DrawnSong) -> str:
    lines = [*_head(song), "layers:"]
    for name, details in song.layers.items():
        if len(details) == 1:
            lines.append(f"  {name}: {details['loop']}")
        else:
            lines.append(f"  {name}: {{{', '.join(f'{word}: {value}' for word, value in details.items())}}}")
    lines.append("sections:")
    for section in song.sections:
        head = f"  - {section.name}"
        head += f", {section.bars} bar{'s' if section.bars != 1 else ''}" if section.bars is not None else ""
        head += f", like {section.like}" if section.like else ""
        detailed = any(each.details for each in section.entries or ())
        listed = "" if detailed else _listed(section, without=True)
        below = [f"{word}: {value}" for word, value in section.other.items()]
        if detailed:
            below += _play(section)
        colon = ":" if listed or below else ""
        lines += [f"{head}{colon} {listed}".rstrip(), *(f"    {line}" for line in below)]
    return "\n".join([*lines, ""])


def long(song: DrawnSong) -> str:
    lines = ["layers:"]
    for name, details in song.layers.items():
        lines += [f"  {name}:", *(f"    {word}: {value}" for word, value in reversed(details.items()))]
    lines.append("sections:")
    for section in song.sections:
        lines.append(f"  - name: {section.name}")
        lines += [f"    bars: {section.bars}"] if section.bars is not None else []
        lines += [f"    like: {section.like}"] if section.like else []
        lines += [f"    {line}" for line in _play(section)]
        lines += [f"    {word}: {value}" for word, value in section.other.items()]
    return "\n".join([*lines, *_head(song), ""])


def _play(section: DrawnSection) -> list[str]:
    """The keys `play` and `without` of the long form."""
    lines = []
    if section.nothing:
        lines.append("play: nothing")
    elif section.entries or section.everything is not None:
        lines.append("play:")
        if section.everything is not None:
            lines.append(f"  everything: {said(section.everything)}".rstrip())
        for each in section.entries or ():
            details = {**({"in bars": said(each.spans)} if each.spans else {}), **each.details}
            lines += [f"  {each.layer}:", *(f"    {word}: {value}" for word, value in details.items())]
    return [*lines, *([f"without: {_taken(section)}"] if section.without else [])]


def dressed(text: str, how: int) -> str:
    """The same recipe with other line ends, blank lines, wider steps, spaces at line ends, notes between the lines."""
    lines = text.split("\n")
    if how & 1:
        lines = [re.sub(r"^( *)(- )?", lambda m: m[1] * 2 + (m[2] or "") * 2, line) for line in lines]
        lines = [re.sub(r"^( *)- - ", r"\1-   ", line) for line in lines]
    if how & 2:
        lines = [part for line in lines for part in (line, "")]
    if how & 4:
        lines = [part for line in lines for part in (" # a note: with - signs", line)]
    if how & 8:
        lines = [f"{line}  " for line in lines]
    return ("\r\n" if how & 16 else "\r" if how & 32 else "\n").join(lines)
