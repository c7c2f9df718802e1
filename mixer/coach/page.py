"""One song's page: its form, a player, what each section does, questions, credits. One file, with the song inside.

The page is the student's own, so what was meant stands beside what happens. Nothing on it judges.
"""

from __future__ import annotations

import base64
import html
from collections.abc import Iterable, Sequence
from itertools import groupby
from string import Template
from typing import Any

from mixer.coach.seen import Seen
from mixer.pages.document import as_told, asset, document
from mixer.pages.form_text import form_as_text
from mixer.record import record
from mixer.song.credits import credits_of, permissions_of
from mixer.song.opened import Opened
from mixer.song.outline import Outline, outline
from mixer.words.english import coach as coach_words
from mixer.words.english import listening as player
from mixer.words.english import page as said


@record
class SongSound:
    """The song as a file: its content and its kind (a media type)."""

    content: bytes
    media_type: str


def song_page(  # noqa: PLR0913 - all that a page can have
    opened: Opened,
    seen: Seen,
    sound: SongSound | None,
    *,
    svg: str = "",
    brief: Sequence[str] = (),
    mood: Sequence[str] = (),
    mistakes: str = "",
    served: bool = False,
) -> str:
    """Give a song's page.

    Parameters
    ----------
    opened : the recipe, of which there is a plan
    seen : what is told of the song
    sound : the song; None for a page without a player
    svg : the chart; the chart in text if empty
    brief, mood : lines of text, left out if empty; the brief's that begin with spaces are a list
    mistakes : what is told of mistakes, as on a terminal; left out if empty
    served : whether it follows what is new, on the loopback address; the song is asked for there
    """
    plan = opened.plan
    if plan is None:
        raise ValueError("there is no song")
    song = outline(plan)
    title = plan.title
    try_texts = [coach_words.to_try(opened.path.name, question.try_text) for question in seen.questions]
    questions = [
        line for each, text in zip(seen.questions, try_texts, strict=True) for line in (each.text, said.to_try(text))
    ]
    parts = [
        _sections(song, seen.section_words),
        _part(said.STANDS_OUT, seen.stands_out),
        _part(said.QUESTIONS, questions),
        _part(said.MOOD, mood),
        _brief(brief),
        _part(said.CREDITS, [*credits_of(plan), *permissions_of(plan)]),
    ]
    words = {
        "draft": player.DRAFT,
        "none": player.NONE,
        "chart": player.CHART,
        "where": player.WHERE,
        "play": player.SCRIPT["play"],
        "mono": said.MONO,
        "larger": player.LARGER,
        "as_table": said.AS_TABLE,
    }
    body = Template(asset("song.html")).substitute(
        {name: html.escape(word) for name, word in words.items()},
        keys=", ".join(f"<kbd>{html.escape(key)}</kbd> {html.escape(what)}" for key, what in said.KEYS),
        parts="\n".join(parts),
        table=_table(song),
        care="".join(f"<p>{html.escape(line)}</p>" for line in said.HEARING),
        mistakes=_region(mistakes, said.IN_THE_DRAFT),
        follow=_FOLLOW if served else "",
    )
    script = asset("listen.js") + asset("song.js") + (asset("follow.js") if served else "")
    data = {"words": {**player.SCRIPT, **said.FOLLOW}, "songs": [_data(song, title, opened, sound, svg)]}
    return document(title, body, asset("listen.css"), script, data, served=served)


def waiting_page(name: str, mistakes: str) -> str:
    """Give the page that is served while there is no song yet; see `song_page`."""
    told = html.escape(player.NONE)
    body = f"<main><h1>{html.escape(name)}</h1>{_region(mistakes, '')}<p>{told}</p>{_FOLLOW}</main>"
    return document(name, body, asset("listen.css"), asset("follow.js"), {"words": said.FOLLOW}, served=True)


def with_mistakes(page: str, mistakes: str) -> str:
    """Give a song's page with mistakes that were made since; the song on it is the last good one."""
    before, _, rest = page.partition(_BEGIN)
    return f"{before}{_region(mistakes, said.IN_THE_LAST_SONG)}{rest.partition(_END)[2]}"


_FOLLOW = '<p id="news" class="news" role="status"></p>'
_BEGIN, _END = '<div id="mistakes" class="mistakes">', "</div><!-- mistakes -->"


def _region(mistakes: str, heard: str) -> str:
    """Give the place for mistakes. What strangers wrote is escaped, so its end cannot be written by them."""
    inner = ""
    if mistakes:
        head, lead = html.escape(said.MISTAKES), html.escape(heard)
        inner = f"<h2>{head}</h2><p>{lead}</p>{as_told(mistakes)}"
    return f"{_BEGIN}{inner}{_END}"


def _data(song: Outline, title: str, opened: Opened, sound: SongSound | None, svg: str) -> dict[str, Any]:
    sections = [(each.letter, each.name, each.first_bar, each.bars) for each in song.sections]
    return {
        "title": title,
        "by": song.by,
        "draft": bool(opened.mistakes),
        "file": "inside" if sound else "",
        "sound": base64.b64encode(sound.content).decode() if sound else "",
        "soundType": sound.media_type if sound else "",
        "part": "",
        "seconds": song.seconds,
        "bars": song.bars,
        "barSeconds": float(opened.plan.frame.bar_seconds) if opened.plan else 1.0,
        "svg": svg,
        "chart": form_as_text(sections, [(layer.name, layer.heard) for layer in song.layers]),
        "about": opened.plan.recipe.about if opened.plan else "",
        "words": [],
        "sections": [each.for_pages() for each in song.sections],
    }


def _part(head: str, lines: Iterable[str]) -> str:
    told = "".join(f"<p>{html.escape(line)}</p>" for line in lines)
    return f"<section><h2>{html.escape(head)}</h2>{told}</section>" if told else ""


def _brief(lines: Iterable[str]) -> str:
    """Give what is told of the brief; lines that are further in are a list."""
    told = []
    for further_in, group in groupby(lines, lambda line: line.startswith("  ")):
        texts = [html.escape(line.strip().removeprefix("- ")) for line in group]
        if further_in:
            told.append(f"<ul>{''.join(f'<li>{text}</li>' for text in texts)}</ul>")
        else:
            told += [f"<p>{text}</p>" for text in texts]
    return f"<section><h2>{html.escape(said.BRIEF)}</h2>{''.join(told)}</section>" if told else ""


def _sections(song: Outline, words: Sequence[Sequence[str]]) -> str:
    told = []
    for section, lines in zip(song.sections, words, strict=True):
        head = said.section_head(section.letter, section.name, section.first_bar, section.first_bar + section.bars - 1)
        inner = "".join(f"<p>{html.escape(line)}</p>" for line in lines)
        told.append(f"<h3>{html.escape(head)}</h3>{inner}")
    return f"<section><h2>{html.escape(said.SECTIONS)}</h2>{''.join(told)}</section>"


def _table(song: Outline) -> str:
    heads = "".join(f'<th scope="col">{html.escape(head)}</th>' for head in said.TABLE_HEADS)
    rows = []
    for section in song.sections:
        players = ", ".join(said.plays(entry.layer, entry.spans) for entry in section.entries) or said.NOBODY
        count = said.bars(section.first_bar, section.first_bar + section.bars - 1)
        name = html.escape(f"{section.letter}  {section.name}")
        rows.append(f'<tr><th scope="row">{name}</th><td>{html.escape(count)}</td><td>{html.escape(players)}</td></tr>')
    return f"<thead><tr>{heads}</tr></thead><tbody>{''.join(rows)}</tbody>"
