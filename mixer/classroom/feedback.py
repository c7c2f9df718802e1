"""A sheet for each student: what was meant, what was heard and said, how to hear it again. And a table for the teacher.

All of it is people's words. The table has the levels that people chose, and no column is computed from sound.
"""

from __future__ import annotations

import csv
import html
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from string import Template

from mixer.classroom.comments import Comments
from mixer.classroom.songs import DETAILS, Done, read_done
from mixer.pages.document import asset
from mixer.store.names import distinct_places, safe_name
from mixer.store.whole import write_text
from mixer.words.english import sheet as said

TABLE = "levels.csv"


@dataclass(frozen=True)
class Sheet:
    """What stands on one student's sheet: headings with lines of plain text."""

    name: str
    title: str
    by: str
    parts: tuple[tuple[str, tuple[str, ...]], ...]


def known_songs(folder: Path) -> list[Done]:
    """Find what is known of the songs in a folder, in the order of their names."""
    places = sorted((folder / DETAILS).glob("*.json")) if (folder / DETAILS).is_dir() else []
    return [done for place in places if (done := read_done(folder, place.stem)) is not None]


def sheets(songs: Iterable[Done], comments: Mapping[str, Comments]) -> list[Sheet]:
    """Give a sheet for each song that is known or was commented on."""
    known = {done.name: done for done in songs}
    names = sorted({*known, *comments})
    return [_sheet(name, known.get(name), comments.get(name, Comments())) for name in names]


def _sheet(name: str, done: Done | None, comments: Comments) -> Sheet:
    title = (done.title if done else "") or comments.title or name
    by = (done.by if done else "") or comments.by
    marks = [said.at_bar(mark.bar, mark.section, mark.words) for mark in comments.marks if mark.words]
    parts = [
        (said.MEANT, _meant(done)),
        (said.CHANGED, _changed(done)),
        (said.HEARD, comments.heard.splitlines()),
        (said.MARKS, marks),
        (said.REMARK, comments.remark.splitlines()),
        (said.LEVELS, [f"{criterion}: {level}" for criterion, level in comments.levels.items()]),
        (said.QUESTION, _question(done)),
        (said.MISSING, [done.why] if done and done.state != "song" and done.why else []),
        (said.HOW_TO_HEAR, [said.how_to_hear(done.file), said.CARE] if done and done.file else []),
    ]
    return Sheet(name, title, by, tuple((head, tuple(lines)) for head, lines in parts if lines))


def _meant(done: Done | None) -> list[str]:
    if done is None:
        return []
    sections = done.shown.get("sections", [])
    lines = dict.fromkeys(f"{each['name']}: {each['meant']}" for each in sections if each.get("meant"))
    return [line for line in (done.shown.get("about", ""), *lines) if line]


def _changed(done: Done | None) -> list[str]:
    """What changed since the version before, and room to say why."""
    changes = [str(line) for line in done.shown.get("changed", [])] if done else []
    return [*changes, said.WHY] if changes else []


def _question(done: Done | None) -> list[str]:
    """One question to go on with, and how to hear what it asks."""
    questions = done.shown.get("questions", []) if done else []
    return [questions[0][0], said.to_hear(questions[0][1])] if questions else []


def write_sheets(all_of_them: Sequence[Sheet], out: Path) -> None:
    """Write each sheet as a page to print and as Markdown to send.

    Raises
    ------
    OSError
        If one cannot be written; what stood there stays.
    """
    places = distinct_places(out / safe_name(sheet.name) for sheet in all_of_them)
    for sheet, place in zip(all_of_them, places, strict=True):
        write_text(place.with_name(f"{place.name}.html"), as_page(sheet))
        write_text(place.with_name(f"{place.name}.md"), as_markdown(sheet))


def as_page(sheet: Sheet) -> str:
    """Give a sheet as a page to print."""
    parts = []
    for head, lines in sheet.parts:
        told = "".join(f"<p>{html.escape(line)}</p>" for line in lines)
        parts.append(f"<section><h2>{html.escape(head)}</h2>{told}</section>")
    return Template(asset("sheet.html")).substitute(
        title=html.escape(sheet.title), by=html.escape(sheet.by), parts="\n".join(parts), note=html.escape(said.NOTE)
    )


def as_markdown(sheet: Sheet) -> str:
    """Give a sheet as Markdown (CommonMark) in which nothing that people wrote is markup."""
    lines = [f"# {_plain(sheet.title)}", *([_plain(sheet.by)] if sheet.by else [])]
    for head, told in sheet.parts:
        lines += [f"## {head}", *(_plain(line) for line in told)]
    return "\n\n".join([*lines, said.NOTE, ""])


def _plain(text: str) -> str:
    """Every ASCII punctuation sign may be escaped (CommonMark 0.31, section 2.4); numbers must not begin a list."""
    escaped = re.sub(r"([!-/:-@\[-`{-~])", r"\\\1", " ".join(text.split()))
    return re.sub(r"^(\d+)(\\[.)])", r"\1\2", escaped)


def write_table(songs: Mapping[str, Comments], done: Iterable[Done], criteria: Sequence[str], place: Path) -> None:
    """Write the levels that people chose as a table (CSV, RFC 4180, UTF-8 with its mark for spreadsheets).

    Raises
    ------
    OSError
        If it cannot be written.
    """
    known = {each.name: each for each in done}
    more = [criterion for comments in songs.values() for criterion in comments.levels]
    columns = list(dict.fromkeys([*criteria, *more]))
    text = io.StringIO()
    table = csv.writer(text)
    table.writerow([_cell(head) for head in (*said.TABLE_HEADS, *columns)])
    for name in sorted({*known, *songs}):
        comments = songs.get(name, Comments())
        title = (known[name].title if name in known else "") or comments.title or name
        by = (known[name].by if name in known else "") or comments.by
        table.writerow([_cell(each) for each in (title, by, *(comments.levels.get(each, "") for each in columns))])
    write_text(place, "\ufeff" + text.getvalue())


def _cell(text: str) -> str:
    """Put a quote mark in front of what a spreadsheet would take for a formula (OWASP, "CSV Injection")."""
    line = " ".join(text.split())
    return f"'{line}" if line[:1] in ("=", "+", "-", "@") or (line[:1] in "\uff1d\uff0b\uff0d\uff20" and line) else line
